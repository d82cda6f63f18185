// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * strandline-render: draws photographs of ink strips of which everything is known.
 *
 *     strandline-render [-o DIR] [--long-side PX] SCENE.txt...
 *         draws each description; writes DIR/SCENE.jpg (or .png) and DIR/SCENE.truth.json
 *
 *     strandline-render --random TIER STYLE SEED[-LAST] [-o DIR] [--long-side PX]
 *         draws scenes thrown by dice: TIER easy, normal, hard or negative; STYLE tidy (strips of a
 *         careful bench) or dip (the kitchen table); files TIER-STYLE-SEED.jpg and .truth.json.
 *         --long-side 1600 makes small, quick pictures of the same scenes; without it the dice
 *         choose 1600 to 4032. Pairs photographed strip by strip are TIER-STYLE-SEED-a and -b.
 *         --nothing-retained makes each scene a pair of an ink that no paper holds.
 *
 *     --preview PX
 *         with either: the same scenes as small upright JPEG files to be shown beside words, PX on
 *         their longer side.
 *
 * DIR/index.json lists the photos of the last run and those pairs.
 *
 * Everything is rendered, nothing is taken with a camera; inks, papers and workshop are invented.
 * The same arguments give the same bytes (on one machine and compiler). It shares no code with
 * src/: it is what src/ is tested against. Truth files have the format described in truth.h.
 *
 * A description (key = value in sections, all keys in describe.c; an example is demo/scenes):
 *
 *     [scene]                     light, camera, table, file
 *     table = dark wood
 *     px_per_mm = 14
 *     [dye]                       absorption peaks: centre nm, width nm, height
 *     name = lantern blue
 *     peak = 612 42 1.0
 *     [ink]
 *     name = Ninth Ferry
 *     [part]                      one dye of the ink above
 *     dye = lantern blue
 *     amount = 6                  K/S x mm along the strip
 *     rf = 0.62
 *     bound_dried = 0.4           part that stays where it was ruled if it dried first
 *     [paper]
 *     name = mill sheet
 *     kind = smooth filter
 *     [strip]
 *     ink = Ninth Ferry
 *     paper = mill sheet
 *     role = dried
 *     [object]                    card, ruler, pen, swatch, coin, peg, tape
 *     kind = ruler
 *     x_mm = 40
 *
 * Model: run.c (dyes on the strip), spectrum.c (Kubelka-Munk), table.c, sheet.c and objects.c
 * (things), camera.c, picture.c (light, lens, sensor), encode.c (file), truth.c. Files: libjpeg,
 * libpng, libexif, lcms2, jansson.
 */
#include "describe.h"
#include "encode.h"
#include "index.h"
#include "random.h"
#include "things.h"
#include "truth.h"

#include <errno.h>
#include <getopt.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SHEETS_MAX = STRIPS_MAX + OBJECTS_MAX, EXIT_MISUSE = 64 };

struct drawing {
    struct run runs[STRIPS_MAX];
    struct sheet sheets[SHEETS_MAX]; ///< what lies under the strips, strips, what lies over them
    int run_count, sheet_count, under_count;
};

static bool lies_over(const struct object *object)
{
    return object->kind == OBJECT_PEG || object->kind == OBJECT_TAPE;
}

static bool add_objects(const struct scene *scene, bool over, struct drawing *drawing)
{
    for (int k = 0; k < scene->object_count; k++) {
        const struct object *object = &scene->objects[k];
        if (lies_over(object) == over) {
            if (!object_sheet(object, scene->seed + 500 + (uint64_t)k,
                              &drawing->sheets[drawing->sheet_count])) {
                return false;
            }
            drawing->sheet_count++;
        }
    }
    return true;
}

static bool add_strips(const struct scene *scene, const struct spectra *spectra,
                       struct drawing *drawing)
{
    for (int s = 0; s < scene->strip_count; s++) {
        if (!run_create(scene, spectra, s, &drawing->runs[s])) {
            return false;
        }
        drawing->run_count++;
        uint64_t seed = scene->seed * 13 + (uint64_t)s;
        strip_ends(seed, &drawing->runs[s]);
        if (!strip_sheet(scene, &drawing->runs[s], seed, &drawing->sheets[drawing->sheet_count])) {
            return false;
        }
        drawing->sheet_count++;
    }
    return true;
}

static void drawing_finish(struct drawing *drawing)
{
    for (int k = 0; k < drawing->run_count; k++) {
        run_finish(&drawing->runs[k]);
    }
    for (int k = 0; k < drawing->sheet_count; k++) {
        sheet_finish(&drawing->sheets[k]);
    }
}

// Where the files of one run go, and what has been drawn so far.
struct job {
    const char *folder;
    int long_side_px; ///< 0: as the scene says
    int preview_px;   ///< 0: whole photos
    bool nothing_retained;
    struct index *index;
};

// One photo that was drawn.
struct photo {
    char file[300];
    struct truth_shares shares;
};

// Draws one scene to DIR/NAME.jpg or .png and DIR/NAME.truth.json. False after a message.
static bool draw(const struct scene *scene, const struct job *job, const char *name,
                 struct photo *ret_photo)
{
    struct drawing *drawing = calloc(1, sizeof *drawing);
    struct spectra *spectra = calloc(1, sizeof *spectra);
    struct picture picture = {0};
    struct camera camera;
    char path[1024];
    bool ok = false;
    if (drawing == NULL || spectra == NULL) {
        fprintf(stderr, "strandline-render: out of memory\n");
        goto done;
    }
    snprintf(ret_photo->file, sizeof ret_photo->file, "%s.%s", name,
             scene->jpeg_quality > 0 ? "jpg" : "png");
    camera_aim(scene, &camera);
    spectra_fill(scene, spectra);
    if (!add_objects(scene, false, drawing)) {
        goto memory;
    }
    drawing->under_count = drawing->sheet_count;
    if (!add_strips(scene, spectra, drawing) || !add_objects(scene, true, drawing) ||
        picture_create(scene, &camera, drawing->sheets, drawing->sheet_count, &picture) != 0) {
        goto memory;
    }
    snprintf(path, sizeof path, "%s/%s", job->folder, ret_photo->file);
    if (!encode_file(scene, &picture, path)) {
        fprintf(stderr, "strandline-render: cannot write %s: %s\n", path, strerror(errno));
        goto done;
    }
    struct truth_input truth = {.scene = scene,
                                .spectra = spectra,
                                .camera = &camera,
                                .runs = drawing->runs,
                                .sheets = drawing->sheets + drawing->under_count,
                                .sheet_count = drawing->sheet_count - drawing->under_count,
                                .photo = ret_photo->file};
    snprintf(path, sizeof path, "%s/%s.truth.json", job->folder, name);
    ok = truth_write(&truth, path, &ret_photo->shares);
    if (ok) {
        index_add_photo(job->index, ret_photo->file);
    } else {
        fprintf(stderr, "strandline-render: cannot write %s: %s\n", path, strerror(errno));
    }
    goto done;
memory:
    fprintf(stderr, "strandline-render: out of memory\n");
done:
    picture_finish(&picture);
    if (drawing != NULL) {
        drawing_finish(drawing);
    }
    free(drawing);
    free(spectra);
    return ok;
}

static void shrink(struct scene *scene, int long_side_px)
{
    int now = scene->width_px > scene->height_px ? scene->width_px : scene->height_px;
    double factor = (double)long_side_px / now;
    if (long_side_px <= 0) {
        return;
    }
    scene->width_px = (int)(scene->width_px * factor + 0.5);
    scene->height_px = (int)(scene->height_px * factor + 0.5);
    scene->px_per_mm *= factor;
}

// As if the photo had been made smaller afterwards: sharper, with less noise a pixel; and upright,
// in plain colours.
static void make_preview(struct scene *scene, int long_side_px)
{
    double full_px_per_mm = scene->px_per_mm;
    shrink(scene, long_side_px);
    scene->blur_px *= scene->px_per_mm / full_px_per_mm;
    scene->noise *= fmin(scene->px_per_mm / full_px_per_mm, 1);
    scene->orientation = 1;
    scene->profile = PROFILE_SRGB;
    scene->bits = 8;
    scene->jpeg_quality = 60;
}

// Changes the scene if only a preview is wanted.
static bool draw_photo(struct scene *scene, const struct job *job, const char *name,
                       struct photo *ret_photo)
{
    if (job->preview_px > 0) {
        make_preview(scene, job->preview_px);
    }
    return draw(scene, job, name, ret_photo);
}

static bool draw_description(const char *path, const struct job *job)
{
    struct photo photo;
    struct scene *scene = calloc(1, sizeof *scene);
    char error[512];
    char name[256];
    const char *slash = strrchr(path, '/');
    bool ok = false;
    if (scene == NULL) {
        return false;
    }
    snprintf(name, sizeof name, "%s", slash != NULL ? slash + 1 : path);
    char *dot = strrchr(name, '.');
    if (dot != NULL) {
        *dot = '\0';
    }
    if (!describe_read(path, scene, error, sizeof error)) {
        fprintf(stderr, "strandline-render: %s\n", error);
    } else {
        shrink(scene, job->long_side_px);
        ok = draw_photo(scene, job, name, &photo);
    }
    free(scene);
    return ok;
}

static int find_word(const char *const *words, const char *word)
{
    for (int k = 0; words[k] != NULL; k++) {
        if (strcmp(words[k], word) == 0) {
            return k;
        }
    }
    return -1;
}

// A pair photographed strip by strip: NAME-a holds the one dipped at once, NAME-b the other.
static bool draw_separate(const struct scene *pair, const struct job *job, const char *name)
{
    struct photo photos[2] = {0};
    struct scene *alone = calloc(1, sizeof *alone);
    bool ok = alone != NULL;
    for (int s = 0; ok && s < 2; s++) {
        char half[80];
        snprintf(half, sizeof half, "%s-%c", name, 'a' + s);
        random_alone(pair, s, alone);
        ok = draw_photo(alone, job, half, &photos[s]);
    }
    if (ok) {
        index_add_pair(job->index, photos[0].file, &photos[0].shares, photos[1].file,
                       &photos[1].shares);
    }
    free(alone);
    return ok;
}

static int draw_random(char **arguments, int count, const struct job *job)
{
    unsigned long first = 0;
    unsigned long last = 0;
    char rest;
    int tier = count == 3 ? find_word(tier_words, arguments[0]) : -1;
    bool dip = count == 3 && strcmp(arguments[1], "dip") == 0;
    bool style = dip || (count == 3 && strcmp(arguments[1], "tidy") == 0);
    int read = count == 3 ? sscanf(arguments[2], "%lu-%lu%c", &first, &last, &rest) : 0;
    if (tier < 0 || !style || read < 1 || read > 2) {
        fprintf(stderr,
                "strandline-render: --random needs a tier (easy, normal, hard, negative), a "
                "style (tidy, dip) and a seed or a range of seeds such as 1-20\n");
        return EXIT_MISUSE;
    }
    last = read == 1 ? first : last;
    struct scene *scene = calloc(1, sizeof *scene);
    bool ok = scene != NULL;
    for (unsigned long seed = first; ok && seed <= last; seed++) {
        char name[64];
        snprintf(name, sizeof name, "%s-%s-%lu", arguments[0], arguments[1], seed);
        struct photo photo;
        struct wish wish = {.tier = tier,
                            .dip = dip,
                            .seed = seed,
                            .long_side_px = job->long_side_px,
                            .nothing_retained = job->nothing_retained};
        random_scene(&wish, scene);
        ok = scene->layout == LAYOUT_SEPARATE ? draw_separate(scene, job, name)
                                              : draw_photo(scene, job, name, &photo);
    }
    free(scene);
    return ok ? EXIT_SUCCESS : EXIT_FAILURE;
}

static const char usage[] =
    "usage: strandline-render [-o DIR] [--long-side PX] SCENE.txt...\n"
    "       strandline-render --random TIER STYLE SEED[-LAST] [-o DIR] [--long-side PX]\n"
    "                         [--nothing-retained]\n"
    "With --preview PX: small upright pictures of the same scenes, to be looked at.\n"
    "Draws photographs of ink strips, and beside each what is true of it (NAME.truth.json).\n"
    "TIER: easy, normal, hard, negative; STYLE: tidy, dip.\n"
    "Example: strandline-render --random normal dip 1-20 --long-side 1600 -o renders\n";

static int draw_all(int argc, char **argv, bool dice, const struct job *job)
{
    if (dice) {
        return draw_random(argv, argc, job);
    }
    for (int k = 0; k < argc; k++) {
        if (!draw_description(argv[k], job)) {
            return EXIT_FAILURE;
        }
    }
    return EXIT_SUCCESS;
}

static bool read_side(const char *name, const char *text, int *ret_px)
{
    *ret_px = atoi(text);
    if (*ret_px < 200 || *ret_px > 8192) {
        fprintf(stderr, "strandline-render: --%s %s: it has to lie between 200 and 8192\n", name,
                text);
        return false;
    }
    return true;
}

// -1 to go on, else the exit code.
static int read_options(int argc, char **argv, bool *ret_dice, struct job *ret_job)
{
    static const struct option options[] = {{"output", required_argument, NULL, 'o'},
                                            {"random", no_argument, NULL, 'r'},
                                            {"long-side", required_argument, NULL, 'l'},
                                            {"preview", required_argument, NULL, 'p'},
                                            {"nothing-retained", no_argument, NULL, 'n'},
                                            {"help", no_argument, NULL, 'h'},
                                            {NULL, 0, NULL, 0}};
    int option;
    while ((option = getopt_long(argc, argv, "o:h", options, NULL)) != -1) {
        switch (option) {
        case 'o':
            ret_job->folder = optarg;
            break;
        case 'r':
            *ret_dice = true;
            break;
        case 'n':
            ret_job->nothing_retained = true;
            break;
        case 'l':
        case 'p':
            if (!read_side(option == 'l' ? "long-side" : "preview", optarg,
                           option == 'l' ? &ret_job->long_side_px : &ret_job->preview_px)) {
                return EXIT_MISUSE;
            }
            break;
        default:
            fputs(usage, option == 'h' ? stdout : stderr);
            return option == 'h' ? EXIT_SUCCESS : EXIT_MISUSE;
        }
    }
    if (!*ret_dice && (optind == argc || ret_job->nothing_retained)) {
        fputs(usage, stderr);
        return EXIT_MISUSE;
    }
    return -1;
}

int main(int argc, char **argv)
{
    struct job job = {.folder = "."};
    bool dice = false;
    int code = read_options(argc, argv, &dice, &job);
    if (code >= 0) {
        return code;
    }
    job.index = index_create();
    code = job.index != NULL ? draw_all(argc - optind, argv + optind, dice, &job) : EXIT_FAILURE;
    if (code == EXIT_SUCCESS && !index_write(job.index, job.folder)) {
        fprintf(stderr, "strandline-render: cannot write %s/index.json: %s\n", job.folder,
                strerror(errno));
        code = EXIT_FAILURE;
    }
    index_destroy(job.index);
    return code;
}
