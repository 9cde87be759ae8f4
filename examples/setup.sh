# Installs Debian packages that are not there yet: sh examples/setup.sh PACKAGE...
# Quiet about those that are. Through sudo when not root; without apt-get it names them and stops.
set -eu

missing=
for package in "$@"; do
    status=$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null || true)
    [ "$status" = installed ] || missing="$missing $package"
done
[ -n "$missing" ] || exit 0

if ! command -v apt-get >/dev/null 2>&1; then
    echo "coldtank: please install, by your system's own means:$missing" >&2
    exit 1
fi
as_root=
if [ "$(id -u)" != 0 ]; then
    if ! command -v sudo >/dev/null 2>&1; then
        echo "coldtank: not root and no sudo; as root: apt-get install$missing" >&2
        exit 1
    fi
    as_root=sudo
fi
echo "coldtank: installing$missing"
log=$(mktemp)
# $missing and $as_root are lists of words.
if ! { $as_root apt-get update && $as_root env DEBIAN_FRONTEND=noninteractive \
    apt-get install -y --no-install-recommends $missing; } >"$log" 2>&1 </dev/null; then
    tail -n 20 "$log" >&2
    rm -f "$log"
    echo "coldtank: could not install$missing" >&2
    exit 1
fi
rm -f "$log"
