// A format: how the items of a run are written, one after the other. Each command has a table of
// them, and all are chosen here.
#pragma once

#include <array>
#include <span>
#include <string>
#include <string_view>

#include "coldtank/version.hpp"
#include "text/json_writer.hpp"

namespace coldtank::io {

// `Run` is what is known of all items. Null: nothing.
template <class Item, class Run>
struct Format {
    std::string_view name;
    std::string (*begin)(const Run&);
    std::string (*item)(const Item&, const Run&);
    std::string_view between;
    std::string (*end)(const Run&);
};

// That of a name, which is one of them.
template <class Item, class Run, std::size_t size>
const Format<Item, Run>& format_of(const Format<Item, Run> (&formats)[size],
                                   std::string_view name) {
    for (const Format<Item, Run>& format : formats) {
        if (format.name == name) return format;
    }
    return formats[0];
}

// All items in that format.
template <class Item, class Run, std::size_t size, class Items>
std::string written(const Format<Item, Run> (&formats)[size], std::string_view name,
                    const Items& items, const Run& run) {
    const Format<Item, Run>& format = format_of(formats, name);
    std::string out;
    if (format.begin != nullptr) out += format.begin(run);
    bool first = true;
    for (const auto& item : items) {
        if (!first) out += format.between;
        first = false;
        out += format.item(item, run);
    }
    if (format.end != nullptr) out += format.end(run);
    return out;
}

// Their names as an option has them: "text|csv|json".
template <const auto& formats>
inline constexpr auto kNames = [] {
    constexpr std::size_t size = [] {
        std::size_t sum = 0;
        for (const auto& format : formats) sum += format.name.size() + 1;
        return sum;
    }();
    std::array<char, size> names{};
    std::size_t at = 0;
    for (const auto& format : formats) {
        if (at > 0) names[at++] = '|';
        for (const char c : format.name) names[at++] = c;
    }
    return names;
}();
template <const auto& formats>
constexpr std::string_view names_of() {
    return {kNames<formats>.data(), kNames<formats>.size() - 1};
}

// ---- JSON: an object with a list of all items, "," between them. `list` is its key; `head` lists
// what stands before.

template <class Head>
std::string json_begin(std::string_view list, Head head) {
    JsonWriter out(JsonWriter::Style::page);
    out.begin_object({});
    out.fixed("format", 1);
    head(out);
    out.begin_list(list);
    return out.take_part();
}
template <class Fill>
std::string json_item(Fill fill) {
    JsonWriter out(JsonWriter::Style::page, JsonWriter::Within::empty_list);
    out.object({}, [&] { fill(out); });
    return out.take_part();
}
inline std::string json_end(bool empty) {
    JsonWriter out(JsonWriter::Style::page,
                   empty ? JsonWriter::Within::empty_list : JsonWriter::Within::list);
    out.end_list();
    out.end_object();
    return out.take();
}
inline void list_program(Fields& out) {
    constexpr std::string_view kProgram[] = {"coldtank"};
    out.object("program", [&] {
        out.word("name", kProgram[0], kProgram);
        out.text("version", kVersion);
    });
}

}  // namespace coldtank::io
