# A Debian package of the program: what it says of itself, what it holds, and that it runs.
#     sh tests/deb.sh PACKAGE SOURCE_DIRECTORY [EMULATOR...]    EMULATOR runs it, "false": not here
set -eu
deb=$1
source=$2
shift 2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
say() { echo "$deb: $*"; exit 1; }

version=$(sed -n 's/^project(coldtank VERSION \([0-9.]*\).*/\1/p' "$source/CMakeLists.txt")
is() { # FIELD PATTERN
    dpkg-deb --field "$deb" "$1" >"$work/field"
    grep -qx "$2" "$work/field" || say "$1 is $(cat "$work/field")"
}
is Package coldtank
is Version "$version"
is Maintainer '[a-z ]* <[a-z.]*@[a-z.]*>'
is Section science
is Priority optional
dpkg-deb --field "$deb" Description | sed -n '2,$p' | grep -q oxygen || say "no long description"

dpkg-deb --extract "$deb" "$work/root"
[ -z "$(find "$work/root" -name '*.a' -o -name '*.hpp' -o -name '*.cmake')" ] || say "the library"
documents=$work/root/usr/share/doc/coldtank
for file in "$documents/changelog.gz" "$work/root/usr/share/man/man1/coldtank.1.gz"; do
    gzip -t "$file" || say "$file"
    # The header's time and name are left out, and it is packed as small as can be.
    [ "$(od -A n -t x1 -N 10 "$file" | tr -d ' \n' | cut -c 7-18)" = 000000000002 ] || say "$file"
done
gzip -dc "$documents/changelog.gz" | head -n 1 | grep -q "^coldtank ($version) " || say "changelog"
# Every paragraph of the licence.
sed '1,/^Copyright/d' "$source/LICENSE" | tr -s ' \n' ' ' >"$work/licence"
sed 's/^ \.$//; s/^ //' "$documents/copyright" | tr -s ' \n' ' ' | grep -qF "$(cat "$work/licence")" ||
    say "the copyright file lacks the licence"
program=$work/root/usr/bin/coldtank
if readelf --sections --wide "$program" | grep -q '\.symtab'; then say "the program is not stripped"; fi
# It depends on what it needs: the libraries that it names, the C library as new as its symbols.
glibc=$(readelf --version-info "$program" | grep -o 'GLIBC_[0-9.]*' | sort -uV | tail -n 1)
depends=$(dpkg-deb --field "$deb" Depends)
least=$(echo "$depends" | sed -n 's/^libc6 (>= \([0-9.]*\)).*/\1/p')
dpkg --compare-versions "$least" ge "${glibc#GLIBC_}" || say "$glibc is needed, it depends on $depends"
case $(readelf --dynamic "$program") in
*libstdc++*) [ "$depends" != "${depends#*libstdc++}" ] || say "libstdc++ is needed: $depends" ;;
*) [ "$depends" = "libc6 (>= $least)" ] || say "only libc6 is needed: $depends" ;;
esac
if command -v lintian >/dev/null 2>&1; then
    as_root=$([ "$(id -u)" != 0 ] || echo --allow-root)
    lintian $as_root --fail-on error,warning "$deb" || say "lintian"
else
    echo "$deb: no lintian: skipped"
fi
if [ "${1:-}" != false ]; then
    "$@" "$program" budget --date 2026-11-25T05:15+01:00 "$source/examples/spring.json" | cmp - "$source/examples/spring.pass.txt"
fi
