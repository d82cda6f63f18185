// SPDX-License-Identifier: GPL-3.0-or-later
/* Inside of the HTML report: one file a part of the page. Everything told by a user or a file goes
 * through html_text. */
#ifndef STRANDLINE_REPORT_HTML_PRIVATE_H
#define STRANDLINE_REPORT_HTML_PRIVATE_H

#include <stdio.h>

#include "strandline/report.h"

struct html {
    FILE *out;
    const struct sl_document *document;
    const struct sl_overlay *overlay; /* or NULL */
    struct sl_lab *lab;
    unsigned figures;            /* SVGs so far, for their ids */
    struct sl_warnings warnings; /* of the figures */
};

/* Escaped for text and for attributes in double quotes. */
void html_text(struct html *html, const char *text);
/* With a capital and a full stop, whether the text has them or not. */
void html_sentence(struct html *html, const char *text);
/* "<tag>text</tag>" with the text escaped. */
void html_element(struct html *html, const char *tag, const char *text);
void html_swatch(struct html *html, const double lab_d50[3]);
void html_warnings(struct html *html, const struct sl_warnings *warnings);
/* A row of a <dl>; left out where the value is empty. */
void html_fact(struct html *html, const char *name, const char *value);
/* A cell; `attributes` such as "class=\"n\"" or "". */
void html_cell(struct html *html, const char *tag, const char *attributes, const char *text);
/* Opens a table that scrolls by itself on a narrow screen. */
void html_table_begin(struct html *html, const char *caption);
void html_table_end(struct html *html);
/* The strip's number in the page, counted over all photos. */
size_t html_strip_number(const struct html *html, struct sl_strip_ref ref);
/* The drawn SVG, without anything around it. */
void html_svg(struct html *html, const char *svg, size_t bytes);

sl_code html_pair(struct html *html, size_t index, struct sl_status *status);
/* What the strips of one set of replicates give together, and a verdict of several strips. */
sl_code html_replicate(struct html *html, size_t index, struct sl_status *status);
sl_code html_combined(struct html *html, size_t index, struct sl_status *status);
sl_code html_overlay(struct html *html, struct sl_status *status);
sl_code html_photo(struct html *html, size_t photo, struct sl_status *status);
sl_code html_strip(struct html *html, struct sl_strip_ref ref, struct sl_status *status);
/* The numbers behind the plots, as JSON in a block that is data and no script. */
sl_code html_data(struct html *html, struct sl_status *status);

#endif
