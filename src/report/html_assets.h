// SPDX-License-Identifier: GPL-3.0-or-later
/* What the build puts into the page: the project's own style and script, and the plot library. */
#ifndef STRANDLINE_REPORT_HTML_ASSETS_H
#define STRANDLINE_REPORT_HTML_ASSETS_H

#include <stddef.h>

extern const char html_page_css[], html_page_js[], html_plot_css[], html_plot_js[],
    html_profile_plot_js[];
extern const size_t html_page_css_bytes, html_page_js_bytes, html_plot_css_bytes,
    html_plot_js_bytes, html_profile_plot_js_bytes;
/* base64 */
extern const char html_page_css_sha256[], html_page_js_sha256[], html_plot_css_sha256[],
    html_plot_js_sha256[], html_profile_plot_js_sha256[];

#endif
