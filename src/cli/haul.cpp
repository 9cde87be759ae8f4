#include "report/haul.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <optional>
#include <string>
#include <vector>

#include "cli/commands.hpp"
#include "text/text.hpp"

namespace coldtank::cli {
namespace {

constexpr Range kLitres{1e-3, 1e9};
constexpr Range kCount{1, 1e9};
constexpr Range kMinutes{0.1, 10080};
constexpr Range kAir{1e-3, 1e9};

// A number in metric, and the same option in US units, of which one may be given.
constexpr Option quantity(std::string_view name, std::string_view value, std::string_view help,
                          Range range, std::string_view other = {}, std::string_view unit = {}) {
    Option option{.kind = Option::Kind::number, .name = name, .value = value, .help = help};
    option.range = range;
    option.excludes = other;
    option.unit = unit;
    return option;
}

constexpr Option kOptions[] = {
    {.kind = Option::Kind::text,
     .name = "FILE",
     .value = "FILE",
     .help = "descriptions with trips, in JSON; or none, and the trip in options",
     .repeats = true,
     .names = Option::Names::input},
    quantity("--water-l", "N", "water in the bucket, L", kLitres, "--water-gal"),
    quantity("--water-gal", "N", "the same, US gallons", kLitres),
    quantity("--count", "N", "fish in it", kCount),
    quantity("--weight", "N", "mean weight of one, g (or 9oz)", kWeightRange, "--weight-oz", "g"),
    quantity("--weight-oz", "N", "the same, ounces", kCount),
    quantity("--temperature", "N", "of the water, degC (or 57f)", kTemperatureRange,
             "--temperature-f", "degC"),
    quantity("--temperature-f", "N", "the same, degF", {32, 104}),
    quantity("--minutes", "N", "how long they are in it", kMinutes),
    {.kind = Option::Kind::text,
     .name = "--species",
     .value = "NAME",
     .help = "of the fish (rainbow trout); with a FILE, a file of species",
     .names = Option::Names::species_or_input},
    quantity("--air", "N", "air through a stone, L/min (none)", kAir),
    quantity("--depth-m", "N", "depth of the stone, m (0.2)", {0.01, 10}),
    {Option::Kind::choice, "--bubble", "WORD", "bubbles of the stone", "medium|fine|coarse"},
    quantity("--oxygen-percent", "N", "oxygen of the water, % of saturation (100)", {20, 500}),
    quantity("--fasted-h", "N", "hours since they were fed (0)", {0, 8760}),
    quantity("--ph", "N", "pH of the water", {3, 11}),
    quantity("--alkalinity", "N", "its alkalinity, mg/L as CaCO3", {0, 5000}),
    quantity("--altitude", "N", "where it is, m (0), or 2100ft", {-500, 5000}, {}, "m"),
    {Option::Kind::choice, "--format", "WORD", "text or json", io::names_of<io::kHaulFormats>()},
    {Option::Kind::choice, "--units", "WORD", "metric or us, of text", "metric|us"},
    kDateOption,
    kLinesOption,
    kOutputOption};

// The trip in the options; what is wrong having been said, none.
std::optional<io::HaulReport> typed_trip(const Arguments& arguments) {
    const auto either = [&](const char* metric, const char* us, double factor, double zero = 0) {
        auto value = arguments.number(metric);
        if (const auto other = arguments.number(us)) value = (*other - zero) * factor;
        return value;
    };
    constexpr double kDegF = 5.0 / 9;
    const auto water = either("--water-l", "--water-gal", io::kGallonUsL);
    const auto weight = either("--weight", "--weight-oz", io::kOunceG);
    const auto temperature = either("--temperature", "--temperature-f", kDegF, 32);
    const auto count = arguments.number("--count");
    const auto minutes = arguments.number("--minutes");
    std::vector<std::string> missing;
    if (!water) missing.emplace_back("--water-l");
    if (!count) missing.emplace_back("--count");
    if (!weight) missing.emplace_back("--weight");
    if (!temperature) missing.emplace_back("--temperature");
    if (!minutes) missing.emplace_back("--minutes");
    if (!missing.empty()) {
        say("coldtank: a trip without a FILE needs {}\n", io::joined(missing, ", "));
        return std::nullopt;
    }
    if (std::floor(*count) != *count) {
        say("coldtank: --count must be a whole number of fish\n");
        return std::nullopt;
    }
    io::SpeciesBook book;
    const std::string species =
        arguments.has("--species") ? arguments.text("--species") : std::string("rainbow trout");
    const io::BookEntry* entry = book.find(species);
    if (entry == nullptr) {
        const std::string near = meant(species, book.all_names());
        say("coldtank: --species: \"{}\" is no species{}\n", io::shortened(species),
            near.empty() ? "; see coldtank species" : near);
        return std::nullopt;
    }
    Trip trip{};
    trip.water_l = *water;
    trip.temperature_c = *temperature;
    trip.minutes = *minutes;
    FishGroup group;
    group.species = entry->species;
    group.species_name = entry->name;
    group.count = *count;
    group.mean_weight_g = *weight;
    trip.fish = {group};
    if (*count * *weight / 1000 > kHeaviestHaul * *water) {
        say("coldtank: over {} kg of fish a litre is no trip; look at --count, --weight and the "
            "water\n",
            io::exact(kHeaviestHaul));
        return std::nullopt;
    }
    std::vector<std::string> assumed;
    if (const auto percent = arguments.number("--oxygen-percent")) {
        trip.start_oxygen_percent = *percent;
    } else {
        assumed.emplace_back("the water is saturated at the start");
    }
    if (const auto air = arguments.number("--air")) {
        const std::string& bubble = arguments.text("--bubble");
        const double depth_m = arguments.number("--depth-m").value_or(0.2);
        trip.aeration = {{{},
                          {},
                          {},
                          Diffuser{*air,
                                   depth_m,
                                   bubble == "fine"     ? Bubble::fine
                                   : bubble == "coarse" ? Bubble::coarse
                                                        : Bubble::medium,
                                   {}}}};
        assumed.push_back(fmt::format("a {} stone {} m deep", bubble, io::exact(depth_m)));
    } else {
        assumed.emplace_back("no air");
    }
    trip.fasted_h = arguments.number("--fasted-h").value_or(0);
    if (!arguments.has("--fasted-h")) assumed.emplace_back("fed until now");
    trip.ph = arguments.number("--ph");
    trip.alkalinity_mg_l = arguments.number("--alkalinity");
    if (!trip.ph || !trip.alkalinity_mg_l) {
        assumed.emplace_back("no more carbon dioxide at the start than by the air");
    }
    if (!arguments.has("--altitude")) assumed.emplace_back("sea level");
    if (!arguments.has("--species")) assumed.emplace_back("rainbow trout");
    return io::make_haul_report(trip, arguments.number("--altitude").value_or(0),
                                std::move(assumed));
}

int run(const Arguments& arguments) {
    const std::string& format = arguments.text("--format");
    const auto now = time_of_run(arguments.text("--date"));
    if (!now) return kUsage;
    std::vector<io::HaulReport> reports;
    if (arguments.all("FILE").empty()) {
        auto typed = typed_trip(arguments);
        if (!typed) return kUsage;
        reports.push_back(std::move(*typed));
    } else {
        for (const char* option : {"--water-l", "--water-gal", "--count", "--weight", "--weight-oz",
                                   "--temperature", "--temperature-f", "--minutes", "--air"}) {
            if (!arguments.has(option)) continue;
            say("coldtank: a FILE has trips of its own: no {} beside it\n", option);
            return kUsage;
        }
        io::SpeciesBook book;
        if (const int wrong = read_species(arguments.text("--species"), book)) return wrong;
        std::vector<io::ReadResult> read;
        if (const int wrong = read_descriptions(
                {arguments.all("FILE"), arguments.has("--lines"), std::string{}}, book, read)) {
            return wrong;
        }
        for (io::ReadResult& one : read) {
            std::fputs(io::errors_as_text(one.errors).c_str(), stderr);
            reports.push_back(io::make_haul_report(std::move(one)));
        }
    }
    int status = kPass;
    for (const io::HaulReport& report : reports)
        status = std::max(status, status_of(report, report.verdict));
    const io::Display show = display_of(arguments);
    const std::string out =
        io::written(io::kHaulFormats, format, reports, io::run_of(reports, show, *now));
    return std::max(status, write_results(arguments, out));
}

}  // namespace

const Command kHaul{
    "haul",
    "Fish in a bucket or a haul tank: minutes of oxygen, carbon dioxide and ammonia, and what to "
    "change.",
    "  coldtank haul --water-l 20 --count 6 --weight 250 --temperature 14 --minutes 40 --air 2\n"
    "  coldtank haul farm.json\n\n"
    "Exit status: 0 pass, 1 warn, 2 fail; 64, 65, 66, 74 as budget.",
    kOptions, run};

}  // namespace coldtank::cli
