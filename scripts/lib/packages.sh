# SPDX-License-Identifier: MIT
#
# Sees to it that what a script needs is there, and installs what is not, by Debian's package names. To be sourced:
#   . lib/packages.sh;  need_packages watch   or   need_packages test
# Asks the package manager only if something is missing; looks for the thing itself, so that other systems do as well.

# package, how to look for it, what to look for
packages_watch='
gcc             command gcc
libc6-dev       header  stdio.h
meson           command meson
ninja-build     command ninja
pkg-config      command pkg-config
libncurses-dev  module  ncursesw
libsocketcan-dev header libsocketcan.h
libpcap-dev     module  libpcap
libconfuse-dev  module  libconfuse
libcmocka-dev   module  cmocka
libjansson-dev  module  jansson
python3         command python3
'
packages_test='
user-mode-linux command linux.uml
iproute2        command ip
kmod            command insmod
tmux            command tmux
tcpdump         command tcpdump
xz-utils        command xz
clang           command clang
'
# A kernel is nothing to put on somebody's machine for a test: only where every test must run.
packages_pc='
qemu-system-x86   command qemu-system-x86_64
linux-image-amd64 file    /lib/modules/*/kernel/drivers/net/can/sja1000/kvaser_pci.ko*
busybox-static    command busybox
cpio              command cpio
'

# Is it there?  $1 how to look, $2 what for
has_package() {
    case $1 in
    command) PATH=$PATH:/usr/sbin:/sbin command -v "$2" >/dev/null ;;
    module) pkg-config --exists "$2" 2>/dev/null ;;
    header) echo "#include <$2>" | gcc -E - >/dev/null 2>&1 ;;
    file) compgen -G "$2" >/dev/null ;;
    esac
}

# Prints the packages of a list that are missing, one a line.  $1 the list
missing_packages() {
    local package how what
    while read -r package how what; do
        [ -z "$package" ] || has_package "$how" "$what" || echo "$package"
    done <<<"$1"
}

# The compiler's runtime for fuzzing is a package of its own, named after the compiler's version.
packages_of_clang() {
    local version resources
    command -v clang >/dev/null || return 0
    version=$(clang -dumpversion)
    resources=$(clang --print-resource-dir)
    echo "libclang-rt-${version%%.*}-dev file $resources/lib/*/libclang_rt.fuzzer*.a"
}

# Tells what is missing and how to get it, and ends.  $1 why, then the packages
give_up_on_packages() {
    local why=$1
    shift
    {
        echo "Missing: $*"
        echo "$why"
        echo "On Debian, as root:  apt-get install $*"
    } >&2
    exit 1
}

install_packages() {
    local as_root=() log status=0
    command -v apt-get >/dev/null ||
        give_up_on_packages "There is no apt-get on this machine: install these packages, or what they are called here." "$@"
    if [ "$(id -u)" != 0 ]; then
        command -v sudo >/dev/null || give_up_on_packages "Installing needs root, and there is no sudo." "$@"
        as_root=(sudo)
    fi
    as_root+=(env DEBIAN_FRONTEND=noninteractive apt-get -qq -y -o DPkg::Lock::Timeout=300)
    log=$(mktemp)
    echo "Installing: $*" >&2
    { "${as_root[@]}" install --no-install-recommends "$@" ||
        { "${as_root[@]}" update && "${as_root[@]}" install --no-install-recommends "$@"; }; } >"$log" 2>&1 || status=$?
    [ "$status" = 0 ] || cat "$log" >&2
    rm -f "$log"
    [ "$status" = 0 ] || give_up_on_packages "apt-get could not install them; what it said stands above." "$@"
}

# Installs what is missing of a list, and makes sure that it then is there.  $1 the list
need_list() {
    local missing
    mapfile -t missing < <(missing_packages "$1")
    [ "${#missing[@]}" = 0 ] && return
    install_packages "${missing[@]}"
    mapfile -t missing < <(missing_packages "$1")
    [ "${#missing[@]}" = 0 ] || give_up_on_packages "They were installed, but what they should bring is not there." "${missing[@]}"
}

# $1: watch (to build and run the program), test (to test it), or all (so that no test is skipped)
need_packages() {
    need_list "$packages_watch"
    [ "$1" != watch ] || return 0
    [ "$1" = test ] || need_list "$packages_pc"
    need_list "$packages_test"
    need_list "$(packages_of_clang)"
}
