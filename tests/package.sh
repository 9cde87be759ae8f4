# Makes what is handed out, in build/packages, for amd64 and arm64: a Debian package, and a program
# in one file that needs nothing of its system. Checks both:
#     sh tests/package.sh
set -eu
cd "$(dirname "$0")/.."
out=build/packages
rm -rf "$out"
mkdir -p "$out"
log=$out/log
run() { "$@" >"$log" 2>&1 || { cat "$log"; echo "package: failed: $*"; exit 1; }; }

native=$(dpkg --print-architecture)
for arch in "$native" $(echo amd64 arm64 | tr ' ' '\n' | grep -vx "$native"); do
    case $arch in
    amd64) machine=x86_64 ;;
    arm64) machine=aarch64 ;;
    *) echo "package: $arch is neither amd64 nor arm64"; exit 1 ;;
    esac
    build=build/$arch
    compiler=g++
    emulator=
    if [ "$arch" != "$native" ]; then
        compiler=$machine-linux-gnu-g++
        command -v "$compiler" >/dev/null || { echo "package: no $compiler: $arch skipped"; continue; }
        emulator="qemu-$machine -L /usr/$machine-linux-gnu"
        command -v "qemu-$machine" >/dev/null || {
            echo "package: no qemu-$machine: $arch is not run"
            emulator=false
        }
        set -- -DCOLDTANK_MANUAL="$PWD/build/$native/coldtank_manual"
    fi

    run cmake -S . -B "$build" -DCMAKE_CXX_COMPILER="$compiler" -DCOLDTANK_TESTS=OFF \
        -DCOLDTANK_WERROR=ON -DCOLDTANK_ONE_FILE=ON "$@"
    run cmake --build "$build" -j "$(sh examples/jobs.sh)"
    run cmake --install "$build" --strip --component program --prefix "$build/one"
    one=$out/coldtank-$arch
    cp "$build/one/bin/coldtank" "$one"
    if readelf --program-headers --wide "$one" | grep -q 'INTERP\|DYNAMIC'; then
        echo "package: $one needs a library"
        exit 1
    fi
    # $emulator is a list of words.
    [ "$emulator" = false ] ||
        $emulator "$one" budget --date 2026-11-25T05:15+01:00 examples/spring.json | cmp - examples/spring.pass.txt

    run cmake -S . -B "$build" -DCOLDTANK_ONE_FILE=OFF
    run cmake --build "$build" -j "$(sh examples/jobs.sh)"
    set -- -D CPACK_DEBIAN_PACKAGE_ARCHITECTURE="$arch"
    if [ "$arch" != "$native" ]; then  # whose libraries dpkg-shlibdeps does not know
        glibc=$(readelf --version-info "$build/coldtank" | grep -o 'GLIBC_[0-9.]*' | sort -uV | tail -n 1)
        set -- "$@" -D CPACK_DEBIAN_PACKAGE_SHLIBDEPS=OFF \
            -D CPACK_DEBIAN_PACKAGE_DEPENDS="libc6 (>= ${glibc#GLIBC_})"
    fi
    run cpack -G DEB --config "$build/CPackConfig.cmake" -B "$build/deb" "$@"
    deb=$(ls "$build"/deb/*_"$arch".deb)
    sh tests/deb.sh "$deb" . $emulator
    mv "$deb" "$out"
    set --
done
rm "$log"
echo "checked, in $out:"
ls -sh "$out"
