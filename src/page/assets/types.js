// SPDX-License-Identifier: GPL-3.0-or-later
/* Shapes of what the server sends (docs/page-api.md, docs/reading.schema.json): only what the page uses. */

/** @typedef {[number, number]} Point */
/** @typedef {[number, number]} Limits from and to, fractions of the strip's length */
/** @typedef {[number|null, number|null]} Interval */
/** @typedef {[number|null, number|null, number|null]} Triple */
/** @typedef {{code: string, message: string, remedy: string}} Problem */

/**
 * @typedef {object} Band
 * @property {number} rf
 * @property {Interval} rf_interval
 * @property {number|null} start_rf
 * @property {number|null} end_rf
 * @property {number} share
 * @property {Interval} share_interval
 * @property {Triple} lab
 * @property {number|null} hue_deg
 * @property {Interval} [hue_interval]
 * @property {string} hue_name
 * @property {boolean} retained
 * @property {boolean} [limits_given]
 * @property {number|null} half_width_rf
 * @property {number|null} asymmetry
 * @property {number|null} resolution_to_next
 */

/** @typedef {{hue_name: string, first_rf: number|null, last_rf: number|null, share: number|null}} Reach */

/**
 * @typedef {object} Profile
 * @property {(number|null)[]} rf
 * @property {number[]} position
 * @property {Triple[]} load
 * @property {Triple[]} [load_se]
 * @property {Triple[]} [light_se]
 * @property {Triple[]} lab
 * @property {Triple[]} [density]
 * @property {number[]} [flags]
 */

/**
 * @typedef {object} Strip
 * @property {string} role
 * @property {string} ink
 * @property {Point[]} corners_px
 * @property {number|null} origin
 * @property {number|null} front
 * @property {number|null} [origin_se]
 * @property {number|null} [front_se]
 * @property {boolean} [origin_given]
 * @property {boolean} [front_given]
 * @property {string} front_seen
 * @property {number|null} [line_width]
 * @property {number|null} length_mm
 * @property {Band[]} bands
 * @property {Reach[]} [reach]
 * @property {boolean} [smeared]
 * @property {boolean} [blank]
 * @property {boolean} [turned]
 * @property {number|null} retained_share
 * @property {Interval} retained_interval
 * @property {number|null} bound_share
 * @property {Interval} bound_interval
 * @property {{left_px: Point[], right_px: Point[], given?: boolean}} [outline]
 * @property {Profile} profile
 * @property {Problem[]} warnings
 */

/** @typedef {{file: string, width_px: number, height_px: number, error: Problem|null, warnings: Problem[], strips: Strip[], advice?: {strip: number, message: string}[]}} Reading */

/**
 * @typedef {object} HandStrip
 * @property {Point[]|null} corners_px
 * @property {number|null} origin
 * @property {number|null} front
 * @property {boolean|null} upside_down
 * @property {number|null} length_mm
 * @property {string|null} role
 * @property {string|null} ink
 * @property {Limits[]|null} bands
 */
/** @typedef {{strips: HandStrip[]}} Hand */

/**
 * @typedef {object} Photo
 * @property {string} id
 * @property {string} name
 * @property {"waiting"|"reading"|"done"} phase
 * @property {number} progress
 * @property {number} width_px
 * @property {number} height_px
 * @property {number|null} reading_version
 * @property {number} strip_count
 * @property {Problem|null} error
 * @property {Hand} hand
 * @property {string|null} offer_pair_with
 * @property {number[]} pictures
 * @property {{whole: string, retained: string, front: string}[]} words
 * @property {boolean} [unfinished] bound shares are still being worked out
 */

/** What comes back to hand-set values. @typedef {Photo & {reading: Reading|null, reading_since?: number, version: number, pairs: Pair[], replicates: Replicate[], combined: Combined[]}} Answer */

/** @typedef {[string, number]} StripRef */

/**
 * Without one, level and scale are null, and words.answer says why.
 * @typedef {object} Verdict
 * @property {string} ink
 * @property {boolean} [unfinished] bound shares are still being worked out
 * @property {number|null} immediate_retained_share
 * @property {Interval} immediate_retained_interval
 * @property {number|null} dried_retained_share
 * @property {Interval} dried_retained_interval
 * @property {number|null} immediate_bound_share
 * @property {Interval} immediate_bound_interval
 * @property {number|null} dried_bound_share
 * @property {Interval} dried_bound_interval
 * @property {string|null} level
 * @property {"none"|"washes away"|"open"|"partly stays"|"stays"} answer
 * @property {{answer: string, sure: string, level: string, soak: string, scale: [number, number, number]|null}} words low, index and high on the drawn scale, parts of its width
 * @property {Triple} [retained_lab]
 * @property {string} [retained_hue_name]
 * @property {string[]} reasons
 * @property {string} [caution]
 * @property {Problem[]} [warnings]
 */
/** @typedef {Verdict & {immediate: StripRef, dried: StripRef, by_hand: boolean}} Pair */

/** One number on several strips. @typedef {object} Mean
 * @property {number} count
 * @property {number|null} value
 * @property {Interval} interval
 * @property {number|null} between_sd
 * @property {(number|null)[]} deviations beyond 1 (or -1) the strip disagrees with the others
 */
/** @typedef {{rf: Mean, share: Mean, lab: Triple, hue_name: string, retained: boolean}} ReplicateBand */
/**
 * Strips of one ink that were treated alike. `alone`: what each strip has by itself.
 * @typedef {object} Replicate
 * @property {string} ink
 * @property {string} treatment
 * @property {StripRef[]} strips
 * @property {{retained: string, bound: string}[]} alone
 * @property {Mean} retained
 * @property {Mean} bound
 * @property {ReplicateBand[]} bands
 * @property {Problem[]} warnings
 * @property {boolean} unfinished
 */
/** A verdict of several strips. @typedef {Verdict & {immediate: StripRef[], dried: StripRef[]}} Combined */

/** @typedef {{ink: string, paper: string, solvent: string, dip_s: number|null, dried_min: number|null}} Conditions */

/**
 * @typedef {object} ServerState
 * @property {number} version
 * @property {string} run
 * @property {Photo[]} photos
 * @property {Photo[]} saved
 * @property {Pair[]} pairs
 * @property {Replicate[]} replicates
 * @property {Combined[]} combined
 * @property {Conditions} conditions
 * @property {{folder: string, error: Problem|null, told: Problem[]}} [keep]
 * @property {{photo_bytes: number, photos: number, saved: number}} [limits]
 */

/**
 * @typedef {object} Overlay
 * @property {number[]} rf
 * @property {{strip: StripRef, label: string, load: Triple[]}[]} traces
 * @property {(number|null)[][]} likeness
 * @property {{band_1: [number, number], band_2: [number, number], rf_difference: number, rf_allowance: number,
 *   signature_angle_deg: number, signature_allowance_deg: number, hue_name: string}[]} shared_dyes
 */

/** A place along one strip: the same everywhere it is shown. @typedef {{photo: string, strip: number, position: number}} Place */

export {};
