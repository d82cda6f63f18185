# SPDX-License-Identifier: GPL-3.0-or-later
# Packages of Debian 12 that the project needs, and one function that gets them.
# For sourcing by demo/run.sh and tests/run.sh; POSIX sh.
# shellcheck disable=SC2034 # the lists are used by those who source this
#
#     . demo/setup.sh
#     setup_packages "$packages_build"                   to build and run
#     setup_packages "$packages_build $packages_tests"   to test as well
#
# Packages that are there already are left alone: a second run needs no network.

packages_build="gcc libc6-dev meson ninja-build pkg-config
libjpeg62-turbo-dev libpng-dev libheif-dev libtiff-dev libexif-dev liblcms2-dev nettle-dev
libgsl-dev libcairo2-dev libpango1.0-dev libglib2.0-dev libjansson-dev libmicrohttpd-dev
libjs-dygraphs fonts-dejavu-core"

# llvm-14 has the symbolizer: without it the leak checker's list of known leaks names nothing.
packages_tests="libcmocka-dev valgrind clang libclang-rt-14-dev llvm-14 clang-format
python3 python3-jsonschema libxml2-utils poppler-utils chromium"

# The same needs in words, for systems whose packages go by other names.
libraries_in_words="a C17 compiler, meson, ninja and pkg-config; the libraries libjpeg, libpng,
libheif, libtiff, libexif, lcms2, nettle, GSL, cairo, pango (pangocairo), glib, jansson and libmicrohttpd
with their headers; dygraphs (JavaScript) and the DejaVu fonts; for the tests cmocka, valgrind, clang with
llvm-symbolizer, and python3 with jsonschema"

# The libraries by their pkg-config names: what meson.build asks for.
pkg_config_names="libjpeg libpng libheif libtiff-4 libexif lcms2 nettle gsl cairo cairo-svg cairo-pdf
pangocairo glib-2.0 jansson libmicrohttpd"

# Prints what is missing on a system without apt, as far as can be seen from here.
missing_tools() {
    command -v cc >/dev/null || command -v gcc >/dev/null || printf 'a C compiler, '
    for tool in meson ninja pkg-config; do
        command -v "$tool" >/dev/null || printf '%s, ' "$tool"
    done
    for name in $pkg_config_names; do
        pkg-config --exists "$name" 2>/dev/null || printf '%s, ' "$name"
    done
}

# Prints those of the packages given as arguments that are not installed.
missing_packages() {
    for package in "$@"; do
        state=$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null) || state=
        [ "$state" = installed ] || printf '%s ' "$package"
    done
}

# setup_packages LIST: installs what is missing of LIST; leaves the log of apt in a file.
setup_packages() {
    if ! command -v dpkg-query >/dev/null || ! command -v apt-get >/dev/null; then
        missing=$(missing_tools)
        [ -n "$missing" ] || return 0
        printf 'This system has no apt-get. Please install by its own means: %s. Missing here: %s. Then run this again.\n' \
            "$libraries_in_words" "${missing%, }" >&2
        return 1
    fi
    # shellcheck disable=SC2086 # the list is meant to split into words
    missing=$(missing_packages $1)
    [ -n "$missing" ] || return 0
    as_root=
    if [ "$(id -u)" -ne 0 ]; then
        if ! command -v sudo >/dev/null; then
            printf 'These packages are missing and there is no sudo: ask root to run: apt-get install %s\n' \
                "$missing" >&2
            return 1
        fi
        as_root=sudo
    fi
    printf 'installing packages: %s\n' "$missing"
    apt_log=$(mktemp)
    $as_root apt-get update >"$apt_log" 2>&1 || : # one list may be out of reach; the install decides
    # shellcheck disable=SC2086
    if ! $as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends \
            $missing >>"$apt_log" 2>&1; then
        tail -n 20 "$apt_log" >&2
        printf 'apt-get could not install the packages; the whole log is %s\n' "$apt_log" >&2
        return 1
    fi
    rm -f "$apt_log"
}
