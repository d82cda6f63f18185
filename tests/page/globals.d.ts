// SPDX-License-Identifier: GPL-3.0-or-later
/* The plot library comes without types. */
declare const Dygraph: any;
