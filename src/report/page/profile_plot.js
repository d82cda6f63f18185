/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The plot of one strip's profile with the strip itself above it on the same axis. The report and the bench page
 * both use it; it is no module, so that the report can carry it inline. */
"use strict";

/**
 * Numbers of one strip, by Rf (or by place, where origin and front are not known).
 * @typedef {object} ProfileData
 * @property {boolean} by_rf
 * @property {boolean} front_seen
 * @property {number} lower where the paper begins and
 * @property {number} upper ends on the axis
 * @property {number[]} at
 * @property {(number|null)[]} load
 * @property {(number|null)[]} low
 * @property {(number|null)[]} high
 * @property {(number|null)[][]} lab
 * @property {(number|null)[][]} density
 * @property {string[]} rgb
 * @property {{rf: number|null, from: number|null, to: number|null, hue: string}[]} bands
 */
/** @typedef {{name: string, words: string, image?: HTMLImageElement|null, kind?: string, point?: (at: number|null) => void, choose?: (kind: string) => void}} ProfilePlotOptions */

const strandlineProfilePlot = (() => {
  /* Below this chroma a hue is no more than noise. */
  const CHROMA_MIN = 3;
  const dark = window.matchMedia("(prefers-color-scheme: dark)");
  /** @param {number|null|undefined} v @param {number} digits */
  const number = (v, digits) => v === null || v === undefined ? "\u2013" : v.toFixed(digits).replace("-", "\u2212");
  /** @param {string} name */
  const colour = name => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  const RGB = () => dark.matches ? ["#ff8a7a", "#7fd48a", "#8db4ff"] : ["#b3261e", "#1b7a33", "#1f56c4"];
  /* Pixels of a letter's height: the plot grows with the page's text. */
  const letter = () => parseFloat(getComputedStyle(document.documentElement).fontSize) || 16;
  const LAB = () => dark.matches ? ["#e0e0e0", "#ff9ad5", "#ffd166"] : ["#444444", "#b0247f", "#9a6a00"];

  /** @param {(number|null)[]} lab @returns {number|null} */
  function hueAngle(lab) {
    const [l, a, b] = lab;
    if (l === null || a === null || b === null || Math.hypot(a, b) < CHROMA_MIN) return null;
    return (Math.atan2(b, a) * 180 / Math.PI + 360) % 360;
  }

  /** @param {ProfileData} s @param {number} i */
  const interval = (s, i) => s.load[i] === null ? null : [s.low[i], s.load[i], s.high[i]];
  /** @param {ProfileData} s @param {number} i */
  const sayLoad = (s, i) => "load " + number(s.load[i], 3) + " (" + number(s.low[i], 3) + " to " + number(s.high[i], 3) + ")";

  /* The library's own legend is never shown, and it would set inline styles, which a strict policy forbids. */
  Dygraph.PLUGINS = Dygraph.PLUGINS.filter((/** @type {any} */ plugin) => plugin !== Dygraph.Plugins.Legend);

  /** @typedef {{text: string, title: string, labels: string[], rows: (s: ProfileData) => any[][], colours: () => string[],
   *    say: (s: ProfileData, i: number) => string, key: string, ribbon?: boolean, bars?: boolean, hue?: boolean}} Kind */
  /** @type {{[name: string]: Kind}} */
  const kinds = {
    hue: {
      text: "Hue and intensity", title: "dye load (K/S)", labels: ["x", "load", "hue"], ribbon: true, bars: true, hue: true,
      rows: s => s.at.map((x, i) => {
        const h = hueAngle(s.lab[i]);
        return [x, interval(s, i), h === null || !(Number(s.load[i]) > .02) ? null : [h, h, h]];
      }),
      colours: () => [colour("--text"), LAB()[1]], say: sayLoad,
      key: "Line: dye load; grey: its 95 % interval; filled in the strip's own colours. Dots: hue angle, axis to the right."
    },
    density: {
      text: "Density", title: "optical density D", labels: ["x", "red", "green", "blue"], key: "",
      rows: s => s.at.map((x, i) => [x, ...s.density[i]]), colours: RGB,
      say: (s, i) => "density red " + number(s.density[i][0], 3) + ", green " + number(s.density[i][1], 3) +
        ", blue " + number(s.density[i][2], 3)
    },
    load: {
      text: "Dye load", title: "dye load (K/S)", labels: ["x", "load"], bars: true,
      rows: s => s.at.map((x, i) => [x, interval(s, i)]), colours: () => [colour("--text")], say: sayLoad,
      key: "Line: dye load, red, green and blue together; grey: its 95 % interval."
    },
    lab: {
      text: "L*a*b*", title: "L*, a*, b*", labels: ["x", "L*", "a*", "b*"], key: "",
      rows: s => s.at.map((x, i) => [x, ...s.lab[i]]), colours: LAB,
      say: (s, i) => "L* " + number(s.lab[i][0], 1) + ", a* " + number(s.lab[i][1], 1) + ", b* " + number(s.lab[i][2], 1)
    }
  };

  /** @param {string} tag @param {{[name: string]: string}} attributes @param {Node} parent */
  function element(tag, attributes, parent) {
    const e = document.createElement(tag);
    Object.keys(attributes).forEach(k => {
      if (k === "text") e.textContent = attributes[k];
      else if (k === "background" || k === "color") e.style[k] = attributes[k];
      else e.setAttribute(k, attributes[k]);
    });
    parent.appendChild(e);
    return e;
  }

  /**
   * Sets up one strip's plot inside `root`.
   * @param {HTMLElement} root
   * @param {ProfileData} first
   * @param {ProfilePlotOptions} options
   */
  function create(root, first, options) {
    let s = first, kind = options.kind || "hue", at = -1;
    /** @type {any} */
    let graph = null;
    let image = options.image || null;
    const bar = element("fieldset", { class: "bar" }, root);
    element("legend", { class: "muted", text: "What the plot shows" }, bar);
    Object.keys(kinds).forEach(name => {
      const label = element("label", {}, bar);
      const radio = /** @type {HTMLInputElement} */ (element("input", { type: "radio", name: "kind-" + options.name, value: name }, label));
      label.appendChild(document.createTextNode(kinds[name].text));
      radio.checked = name === kind;
      radio.addEventListener("change", () => {
        kind = name;
        show(true);
        if (options.choose) options.choose(name);
      });
    });
    element("button", { type: "button", text: "Show all" }, bar).addEventListener("click", () => graph.resetZoom());
    const key = element("p", { class: "key muted" }, root);
    const picture = /** @type {HTMLCanvasElement} */ (element("canvas", { class: "picture", "aria-hidden": "true" }, root));
    const box = element("div", { class: "canvas", tabindex: "0", role: "img" }, root);
    const out = element("output", { "aria-live": "polite", text: "Point at the plot, or step along it with the arrow keys. Drag to zoom." }, root);
    name(options.words);
    setImage(image);

    /** @param {string} words */
    function name(words) {
      box.setAttribute("aria-label", "Profile along the strip. " + words +
        " With the arrow keys you can step along it; the values are read out below.");
    }

    /** @param {HTMLImageElement|null} next */
    function setImage(next) {
      image = next;
      if (image) image.decode().then(() => drawPicture(), () => { });
    }

    /** @param {number} i @param {boolean} tell */
    function say(i, tell) {
      if (i < 0 || i >= s.at.length) return;
      at = i;
      out.textContent = "";
      element("span", { class: "swatch", background: s.rgb[i] }, out);
      const h = hueAngle(s.lab[i]);
      out.appendChild(document.createTextNode((s.by_rf ? "Rf " : "Place ") + number(s.at[i], 3) + ": " +
        kinds[kind].say(s, i) + (h === null ? "" : ", hue angle " + number(h, 0) + "\u00b0") + near(s.at[i])));
      drawPicture();
      if (tell && options.point) options.point(s.at[i]);
    }

    /** @param {number} x */
    function near(x) {
      const b = s.bands.find(v => v.from !== null && v.to !== null && x >= v.from && x <= v.to);
      return b ? ". In the band at Rf " + number(b.rf, 3) + " (" + b.hue + ")." : ".";
    }

    function drawPicture() {
      if (!graph || !picture.clientWidth) return;
      const scale = window.devicePixelRatio || 1, area = graph.getArea(), c = picture.getContext("2d");
      if (!c) return;
      picture.width = Math.max(1, picture.clientWidth * scale);
      picture.height = Math.max(1, picture.clientHeight * scale);
      c.scale(scale, scale);
      c.beginPath();
      c.rect(area.x, 0, area.w, picture.clientHeight);
      c.clip();
      const left = graph.toDomXCoord(s.lower), right = graph.toDomXCoord(s.upper);
      if (image && image.complete && image.naturalWidth > 0) {
        drawLying(c, image, left, right - left, picture.clientHeight);
      } else {
        ribbon(c, picture.clientHeight, () => 0);
      }
      c.strokeStyle = colour("--line");
      c.strokeRect(left, .5, right - left, picture.clientHeight - 1);
      if (at >= 0) {
        c.strokeStyle = colour("--text");
        c.beginPath();
        c.moveTo(graph.toDomXCoord(s.at[at]), 0);
        c.lineTo(graph.toDomXCoord(s.at[at]), picture.clientHeight);
        c.stroke();
      }
    }

    /* A picture that stands upright is laid down, its lower edge to the left. */
    /** @param {CanvasRenderingContext2D} c @param {HTMLImageElement} img @param {number} x @param {number} w @param {number} h */
    function drawLying(c, img, x, w, h) {
      if (img.naturalWidth >= img.naturalHeight) {
        c.drawImage(img, x, 0, w, h);
        return;
      }
      c.save();
      c.translate(x + w, 0);
      c.rotate(Math.PI / 2);
      c.drawImage(img, 0, 0, h, w);
      c.restore();
    }

    /* The strip's own colours, a slice a sample. */
    /** @param {CanvasRenderingContext2D} c @param {number} bottom @param {(i: number) => number|null} top */
    function ribbon(c, bottom, top) {
      const half = s.at.length > 1 ? Math.abs(graph.toDomXCoord(s.at[1]) - graph.toDomXCoord(s.at[0])) / 2 : 1;
      for (let i = 0; i < s.at.length; i++) {
        const y = top(i);
        if (y === null || y >= bottom) continue;
        c.fillStyle = s.rgb[i];
        c.fillRect(graph.toDomXCoord(s.at[i]) - half - .3, y, 2 * half + .6, bottom - y);
      }
    }

    /** @param {CanvasRenderingContext2D} c @param {{x: number, y: number, w: number, h: number}} area @param {any} g */
    function underlay(c, area, g) {
      graph = g;
      if (kinds[kind].ribbon) {
        ribbon(c, g.toDomYCoord(0), i => s.load[i] === null ? null : Math.max(g.toDomYCoord(s.load[i]), area.y));
      }
      c.font = 0.75 * letter() + "px " + getComputedStyle(document.body).fontFamily;
      c.textAlign = "center";
      if (s.by_rf) {
        mark(c, area, g, 0, "origin", []);
        mark(c, area, g, 1, s.front_seen ? "front" : "front?", s.front_seen ? [] : [3, 3]);
      }
      s.bands.forEach((b, i) => b.rf !== null && mark(c, area, g, b.rf, String(i + 1), [5, 4], letter()));
    }

    /* Names of origin and front stand above the bands' numbers. */
    /** @param {CanvasRenderingContext2D} c @param {{x: number, y: number, w: number, h: number}} area @param {any} g
     *  @param {number} value @param {string} text @param {number[]} dash @param {number} [down] */
    function mark(c, area, g, value, text, dash, down = 0) {
      const x = g.toDomXCoord(value);
      if (x < area.x || x > area.x + area.w) return;
      c.save();
      c.strokeStyle = c.fillStyle = colour("--muted");
      c.setLineDash(dash);
      c.beginPath();
      c.moveTo(x, area.y + letter() + down);
      c.lineTo(x, area.y + area.h);
      c.stroke();
      c.fillText(text, x, area.y + 0.75 * letter() + down);
      c.restore();
    }

    /* At least a faint tint's load, so that noise on blank paper is not blown up. */
    function highest() {
      return Math.max(.15, ...s.load.map(v => v === null ? 0 : v));
    }

    /* Lines are told apart by colour and by dashes, and the key says both. */
    /** @param {Kind} k */
    function showKey(k) {
      const looks = ["solid", "dashed", "dotted"], colours = k.colours();
      key.textContent = k.key;
      if (!k.key) k.labels.slice(1).forEach((label, i) => {
        element("b", { color: colours[i], text: label }, key);
        key.appendChild(document.createTextNode(" " + looks[i] + (i < 2 ? ", " : "")));
      });
    }

    function ranges() {
      const k = kinds[kind];
      return { valueRange: k.bars ? [0, highest() * 1.3] : null, dateWindow: [Math.max(s.lower, -.5), Math.min(s.upper, 1.6)] };
    }

    /** @param {boolean} anew */
    function show(anew) {
      const k = kinds[kind], rows = k.rows(s);
      if (graph && !anew) {
        const zoomed = graph.isZoomed();
        graph.updateOptions(Object.assign({ file: rows }, zoomed ? {} : ranges()));
        if (at >= 0) say(Math.min(at, s.at.length - 1), false);
        return;
      }
      /** @type {{[name: string]: any}} */
      const series = {};
      k.labels.slice(1).forEach((label, i) => { series[label] = { strokePattern: [null, [8, 4], [2, 3]][i] }; });
      if (k.hue) series.hue = { axis: "y2", strokeWidth: 0, drawPoints: true, pointSize: 1.6 };
      showKey(k);
      if (graph) { graph.destroy(); graph = null; }
      graph = new Dygraph(box, rows, Object.assign({
        labels: k.labels, series: series, customBars: !!k.bars, colors: k.colours(), strokeWidth: 1.4,
        xlabel: s.by_rf ? "Rf" : "place along the strip, from its lower edge", ylabel: k.title, y2label: k.hue ? "hue angle" : "",
        axisLabelFontSize: 0.8 * letter(), xLabelHeight: 1.15 * letter(), yLabelWidth: 1.15 * letter(),
        legend: "never", gridLineColor: colour("--grid"), axisLineColor: colour("--muted"),
        fillAlpha: .25, xRangePad: 0, highlightCircleSize: 4, animatedZooms: false,
        axes: {
          x: { axisLabelWidth: 3.5 * letter(), axisLabelFormatter: (/** @type {number} */ v) => number(v, 2) },
          y: { axisLabelWidth: 2.75 * letter(), axisLabelFormatter: (/** @type {number} */ v) => String(+v.toFixed(4)).replace("-", "\u2212") },
          y2: { valueRange: [0, 390], axisLabelWidth: 3.6 * letter(), drawGrid: false, ticker: () => [0, 90, 180, 270, 360].map(v => ({ v: v, label: v + "\u00b0" })) }
        },
        underlayCallback: underlay, drawCallback: (/** @type {any} */ g) => { graph = g; drawPicture(); },
        highlightCallback: (/** @type {Event} */ e, /** @type {number} */ x, /** @type {any} */ points, /** @type {number} */ row) => say(row, true)
      }, ranges()));
      if (at >= 0) say(at, false);
    }

    /** @param {number} value @returns {number} */
    function nearest(value) {
      let best = 0;
      s.at.forEach((x, i) => { if (Math.abs(x - value) < Math.abs(s.at[best] - value)) best = i; });
      return best;
    }

    picture.addEventListener("pointermove", e => {
      const i = nearest(graph.toDataXCoord(e.clientX - picture.getBoundingClientRect().left));
      graph.setSelection(i);
      say(i, true);
    });
    box.addEventListener("keydown", e => {
      /** @type {{[key: string]: number}} */
      const steps = { ArrowLeft: -1, ArrowRight: 1, PageDown: -20, PageUp: 20 };
      let i = at < 0 ? 0 : at;
      if (e.key in steps) i += steps[e.key] * (e.shiftKey ? 10 : 1);
      else if (e.key === "Home") i = 0;
      else if (e.key === "End") i = s.at.length - 1;
      else return;
      e.preventDefault();
      i = Math.min(Math.max(i, 0), s.at.length - 1);
      graph.setSelection(i);
      say(i, true);
    });
    const again = () => show(true);
    dark.addEventListener("change", again);
    show(true);

    return {
      setImage: setImage,
      /** Shows other numbers of the same strip. @param {ProfileData} next @param {string} words */
      update(next, words) {
        const axis = next.by_rf !== s.by_rf;
        s = next;
        name(words);
        show(axis);
      },
      /** Shows a place that was pointed at elsewhere. @param {number} value */
      point(value) {
        const i = nearest(value);
        graph.setSelection(i);
        say(i, false);
      },
      destroy() {
        dark.removeEventListener("change", again);
        graph.destroy();
        root.textContent = "";
      }
    };
  }

  return { create: create };
})();
