// fmt, compiled once: all else includes no more than its declarations.
#include <fmt/format-inl.h>

// What the library itself instantiates where it is compiled.
template fmt::detail::thousands_sep_result<char> fmt::detail::thousands_sep_impl(
    fmt::detail::locale_ref);
template char fmt::detail::decimal_point_impl(fmt::detail::locale_ref);
#if FMT_VERSION >= 100000
template void fmt::detail::vformat_to<char>(buffer<char>&, string_view, vformat_args<>::type,
                                            locale_ref);
#endif
