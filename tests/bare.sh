#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# bare.sh [--keep] [--commit COMMIT] [FOLDER]: the README's two commands, in their order, on a bare Debian 12.
#
# As root: debootstrap lays the smallest Debian 12 into FOLDER (without one: a new folder for it), the committed tree
# (HEAD, or COMMIT) is copied into it, and both commands run in it as root. How the machine reaches Debian's packages
# and npm's is taken over: mirrors, proxies, certificates, npm's settings, name servers. All else is the bare system's.
# FOLDER/demo.log and FOLDER/tests.log hold what was said, their last lines end this; the exit code is 0 only if both
# commands succeeded. With --keep the system stays in FOLDER/bookworm, and the next run there needs no debootstrap.
set -eu

PATH=$PATH:/usr/sbin:/sbin # where debootstrap is, and not every root looks
release=bookworm
# The host's certificates, for all who load packages; beside what Debian's own package of them writes.
certificates=/etc/host-certificates.crt

refuse() {
    printf 'bare: %s\n' "$2" >&2
    exit "$1"
}

# apart COMMAND...: with mounts and processes of its own, so that none outlives it whatever happens.
apart() {
    unshare --mount --pid --fork --kill-child "$@" &
    child=$!
    code=0
    wait "$child" || code=$?
    child=
    return "$code"
}

finish() {
    if [ -n "$child" ]; then
        kill -KILL "$child"
        sleep 1 # the kernel ends the processes inside
    fi
    [ -z "$keep" ] || [ ! -f "$base" ] || return 0
    rm -rf --one-file-system "$root" "$base" "$base.new"
}

# Where this machine gets Debian 12 from, one "deb ADDRESS SUITE main" a line; nothing on a machine of another kind.
sources() {
    # shellcheck disable=SC2016 # apt fills these in
    apt-get indextargets --format '$(ORIGIN) deb $(REPO_URI) $(CODENAME) $(COMPONENT)' 'Created-By: Packages' 2>/dev/null |
        sed -n "s/^Debian \(deb [^ ]* $release\(-updates\|-security\)\? main\)$/\1/p" | sort -u
}

# The base system, from its archive if a run before has left one.
lay_base() {
    if [ -f "$base" ]; then
        rm -rf --one-file-system "$root"
        mkdir "$root"
        tar --numeric-owner -C "$root" -xpf "$base"
        return
    fi
    mirror=$(sources | awk -v suite="$release" '$3 == suite { print $2; exit }')
    # shellcheck disable=SC2086 # debootstrap has a mirror of its own where none is told
    apart debootstrap --variant=minbase "$release" "$root" $mirror >"$folder/debootstrap.log" 2>&1 || {
        tail -n 20 "$folder/debootstrap.log" >&2
        refuse 69 "debootstrap failed; the whole log is $folder/debootstrap.log."
    }
    tar --numeric-owner -C "$root" -cpf "$base.new" .
    mv "$base.new" "$base"
}

# How the host reaches its registries, and a name for the machine itself, as every installed system has.
take_over() {
    cp -L /etc/resolv.conf "$root/etc/resolv.conf"
    printf '127.0.0.1 localhost\n' >"$root/etc/hosts"
    [ ! -f /etc/ssl/certs/ca-certificates.crt ] || cp -L /etc/ssl/certs/ca-certificates.crt "$root$certificates"
    [ -z "$(sources)" ] || sources >"$root/etc/apt/sources.list"
    {
        apt-config dump 2>/dev/null | grep -E '^Acquire::(https?|ftp|Retries|Check-[A-Za-z-]*)[: ]' || :
        [ ! -f "$root$certificates" ] || printf 'Acquire::https::CaInfo "%s";\n' "$certificates"
    } >"$root/etc/apt/apt.conf.d/99host"
    # Nobody needs this system after a power cut: packages need not be on disk at once.
    printf 'force-unsafe-io\n' >"$root/etc/dpkg/dpkg.cfg.d/unsafe-io"
    (
        umask 077
        for settings in /etc/npmrc "$(npm config get globalconfig 2>/dev/null || :)" ~/.npmrc; do
            [ ! -f "$settings" ] || sed '' "$settings"
        done >"$root/root/.npmrc"
    )
}

# run COMMAND LOG: in the bare system, with nothing of this environment but how packages are reached.
run() {
    command=$1
    log=$2
    set -- HOME=/root PATH=/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin
    for name in $(env | sed -nE 's/^((https?|ftp|all|no)_proxy|npm_config_[a-z_]*)=.*/\1/Ip'); do
        set -- "$@" "$name=$(printenv "$name")"
    done
    [ ! -f "$root$certificates" ] || set -- "$@" "NPM_CONFIG_CAFILE=$certificates"
    printf 'bare: %s; its words go to %s\n' "$command" "$log"
    # shellcheck disable=SC2016,SC2086 # the inner shell fills these in; the command is meant to split
    apart sh -c '
        set -eu
        mount -t proc proc "$1/proc"
        mount -t sysfs -o ro sysfs "$1/sys"
        mount -t devpts -o newinstance,ptmxmode=666 devpts "$1/dev/pts"
        mount -t tmpfs tmpfs "$1/dev/shm"
        exec chroot "$@"' sh "$root" env -i -C /srv/strandline "$@" $command >"$log" 2>&1
}

keep=
commit=HEAD
folder=
while [ $# -gt 0 ]; do
    case $1 in
    --keep) keep=yes ;;
    --commit)
        [ $# -ge 2 ] || refuse 64 '--commit needs the name of a commit.'
        commit=$2
        shift
        ;;
    -*) refuse 64 "There is no option $1: it is bare.sh [--keep] [--commit COMMIT] [FOLDER]." ;;
    *) folder=$1 ;;
    esac
    shift
done
[ "$(id -u)" -eq 0 ] || refuse 77 'Only root can lay a system into a folder: run this with sudo.'
command -v debootstrap >/dev/null || refuse 69 'debootstrap is not installed: apt-get install debootstrap brings it.'
[ -n "$folder" ] || folder=$(mktemp -d)
mkdir -p "$folder"
folder=$(cd "$folder" && pwd)
cd "$(dirname "$0")/.."
root=$folder/$release
base=$root.tar
[ ! -e "$root" ] || [ -f "$base" ] ||
    refuse 73 "$root is there and no run of this has left it so: name another folder, or remove it."

child=
trap finish EXIT
trap 'exit 130' INT
trap 'exit 143' TERM HUP

printf 'bare: Debian 12 into %s\n' "$root"
lay_base
take_over
mkdir "$root/srv/strandline"
git archive --output "$folder/tree.tar" "$commit"
tar --no-same-owner -C "$root/srv/strandline" -xf "$folder/tree.tar"
rm "$folder/tree.tar"

demo=0
tests=0
run 'sh demo/run.sh' "$folder/demo.log" || demo=$?
run 'sh tests/run.sh' "$folder/tests.log" || tests=$?
tail -n 12 "$folder/demo.log"
printf 'bare: the demo ended with exit code %s; the whole log is %s\n' "$demo" "$folder/demo.log"
tail -n 12 "$folder/tests.log"
printf 'bare: the tests ended with exit code %s; the whole log is %s\n' "$tests" "$folder/tests.log"
[ "$demo" -eq 0 ] && [ "$tests" -eq 0 ]
