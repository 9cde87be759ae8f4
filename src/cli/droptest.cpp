#include "report/droptest.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cstdio>
#include <optional>
#include <string>
#include <vector>

#include "cli/commands.hpp"
#include "text/text.hpp"

namespace coldtank::cli {
namespace {

constexpr Range kLitres{1e-3, 1e9};
constexpr Range kAnyFlow{0, 1e9};

constexpr Option number(std::string_view name, std::string_view help, Range range,
                        std::string_view other = {}, std::string_view unit = {}) {
    Option option{.kind = Option::Kind::number, .name = name, .value = "N", .help = help};
    option.range = range;
    option.excludes = other;
    option.unit = unit;
    return option;
}
constexpr Option when(std::string_view name, std::string_view help) {
    return {.kind = Option::Kind::text, .name = name, .value = "TIME", .help = help};
}

constexpr Option kOptions[] = {
    {.kind = Option::Kind::text,
     .name = "FILE",
     .value = "FILE",
     .help = "LOG.csv, and the description of its tank; with --before descriptions alone",
     .required = true,
     .repeats = true,
     .names = Option::Names::input},
    {Option::Kind::flag, "--before", "", "whether a test is safe, and when to switch on again"},
    kTankOption,
    number("--fasted-h", "hours since its fish were fed; needed where there are any", kFastedRange),
    when("--off", "when all was switched off: 14:05, or as in the log (found)"),
    when("--on", "when the air was switched on again (found)"),
    when("--end", "when the water was, or the log is to end (with its last row)"),
    number("--flow-l-min", "water that ran while the air was on, L/min (none)", kAnyFlow),
    {Option::Kind::flag, "--no-air", "", "of a tank without fish: its air was off too"},
    number("--surface-m3-h", "what the surface takes up, of a test without fish (0)", kAnyFlow),
    number("--volume-l", "without a description: water in the tank, L", kLitres, "--volume-gal"),
    number("--volume-gal", "the same, US gallons", kLitres),
    number("--biomass", "all its fish, kg (or 40lb); 0: an empty tank", {0, 1e9}, {}, "kg"),
    number("--weight", "mean weight of one, g (or 9oz)", kWeightRange, {}, "g"),
    number("--temperature", "where the log has none, degC (or 57f)", kTemperatureRange, {}, "degC"),
    number("--altitude", "where it is, m (0), or 2100ft", {-500, 5000}, {}, "m"),
    kReadingsOption,
    kMaxAgeOption,
    kOxygenOption,
    kSpeciesOption,
    {Option::Kind::choice, "--format", "WORD", "text or json", io::names_of<io::kDropFormats>()},
    {Option::Kind::choice, "--units", "WORD", "metric or us, of text", "metric|us"},
    kDateOption,
    kOutputOption};

constexpr const char* kTyped[] = {"--volume-l", "--volume-gal",  "--biomass",
                                  "--weight",   "--temperature", "--altitude"};
constexpr const char* kOfLog[] = {"--fasted-h",   "--off",          "--on",    "--end",
                                  "--flow-l-min", "--surface-m3-h", "--no-air"};

// Says so where one of them was given.
template <std::size_t size>
bool given(const Arguments& arguments, const char* const (&names)[size], std::string_view why) {
    for (const char* name : names) {
        if (!arguments.has(name)) continue;
        say("coldtank: {}: {}\n", name, why);
        return true;
    }
    return false;
}

int before(const Arguments& arguments, const io::Instant& now) {
    if (given(arguments, kTyped, "--before goes by a description alone") ||
        given(arguments, kOfLog, "is of a log; --before needs none")) {
        return kUsage;
    }
    io::SpeciesBook book;
    if (const int wrong = read_species(arguments.text("--species"), book)) return wrong;
    Measured measured;
    if (const int wrong = read_measured(arguments, now, measured)) return wrong;
    std::vector<io::ReadResult> read;
    if (const int wrong = read_descriptions(
            {arguments.all("FILE"), false, arguments.text("--tank"),
             measured.merged ? &measured.readings : nullptr, measured.max_age, now},
            book, read)) {
        return wrong;
    }
    if (const int wrong = take_oxygen(arguments, read)) return wrong;
    int status = measured.readings.unreadable ? kNoInput : kPass;
    io::DropRun run{display_of(arguments), now};
    std::vector<io::DropSafetyReport> reports;
    for (io::ReadResult& one : read) {
        std::fputs(io::errors_as_text(one.errors).c_str(), stderr);
        reports.push_back(io::make_drop_safety_report(std::move(one)));
        const Status verdict = reports.back().verdict;
        run.verdict = worse(run.verdict, verdict);
        status = std::max({status, status_of(reports.back(), verdict),
                           verdict == Status::unchecked ? int{kWarn} : int{kPass}});
    }
    run.reports = reports.size();
    const std::string out =
        io::written(io::kDropSafetyFormats, arguments.text("--format"), reports, run);
    return std::max(status, write_results(arguments, out));
}

// The tank of a log, with its site: of a description, or of the options. Not 0: the exit status,
// what is wrong having been said.
int described(const Arguments& arguments, io::DropSetting& setting) {
    if (given(arguments, kTyped, "the description says it (of an empty tank \"fish\": [])")) {
        return kUsage;
    }
    io::SpeciesBook book;
    if (const int wrong = read_species(arguments.text("--species"), book)) return wrong;
    const std::vector<std::string> files{arguments.all("FILE")[1]};
    std::vector<io::ReadResult> read;
    if (const int wrong = read_descriptions({files, false, arguments.text("--tank")}, book, read)) {
        return wrong;
    }
    for (const io::ReadResult& one : read) {
        std::fputs(io::errors_as_text(one.errors).c_str(), stderr);
    }
    if (read.size() != 1 || !read[0].description) {
        if (read.size() > 1) say("coldtank: one description, not one a line\n");
        return read.size() > 1 ? kUsage : read[0].unreadable ? kNoInput : kData;
    }
    if (!read[0].errors.empty() && !arguments.has("--tank")) {
        say("coldtank: not all of it could be read: which tank is the log of? --tank NAME\n");
        return kData;
    }
    std::vector<const Tank*> tanks;
    for (const Tank& tank : read[0].description->tanks) {
        if (io::asked_for(read[0], tank)) tanks.push_back(&tank);
    }
    if (tanks.empty()) return kData;
    if (tanks.size() > 1) {
        std::vector<std::string> names;
        for (const Tank* tank : tanks) names.push_back(io::printable(tank->name));
        say("coldtank: which tank is the log of? --tank {}\n", io::joined(names, ", or "));
        return kUsage;
    }
    setting.head = io::ReportHead(read[0]);
    setting.test.tank = *tanks.front();
    return 0;
}
int typed(const Arguments& arguments, const io::DropLog& log, io::DropSetting& setting) {
    auto volume_l = arguments.number("--volume-l");
    if (const auto gallons = arguments.number("--volume-gal")) volume_l = *gallons * io::kGallonUsL;
    const auto biomass_kg = arguments.number("--biomass");
    const auto weight_g = arguments.number("--weight");
    const auto temperature_c = arguments.number("--temperature");
    std::vector<std::string> missing;
    if (!volume_l) missing.emplace_back("--volume-l");
    if (!biomass_kg) missing.emplace_back("--biomass");
    if (biomass_kg != 0.0 && !weight_g) missing.emplace_back("--weight");
    if (!temperature_c && !log.reads_temperature()) missing.emplace_back("--temperature");
    if (!missing.empty()) {
        say("coldtank: a log without the description of its tank needs {}\n",
            io::joined(missing, ", "));
        return kUsage;
    }
    if (*biomass_kg > kHeaviestShare * *volume_l) {
        say("coldtank: over {} kg of fish a litre is no tank; look at --biomass and the water\n",
            io::exact(kHeaviestShare));
        return kUsage;
    }
    constexpr double kLeast = 1e-3;
    if (*biomass_kg > 0 && *biomass_kg < kLeast) {
        say("coldtank: --biomass: under a gram of fish is none: 0 for an empty tank\n");
        return kUsage;
    }
    Tank& tank = setting.test.tank;
    tank.volume_l = *volume_l;
    tank.water.temperature_c = temperature_c.value_or(0);
    if (*biomass_kg > 0) {
        const SpeciesEntry& entry = *find_species("rainbow trout");
        FishGroup group;
        group.species = entry.species;
        group.species_name = entry.name;
        group.count = *biomass_kg * 1000 / *weight_g;
        group.mean_weight_g = *weight_g;
        tank.fish = {group};
    }
    if (!arguments.has("--altitude")) setting.assumed.emplace_back("sea level");
    setting.head.site = Site{.name = "", .altitude_m = arguments.number("--altitude").value_or(0)};
    setting.head.pressure_kpa = site_pressure(*setting.head.site).pressure_kpa;
    return 0;
}

// All that a log is of.
int set_up(const Arguments& arguments, io::DropLog& log, io::DropSetting& setting) {
    const int wrong = arguments.all("FILE").size() == 2 ? described(arguments, setting)
                                                        : typed(arguments, log, setting);
    if (wrong != 0) return wrong;
    setting.flow_told = arguments.has("--flow-l-min");
    DropTest& test = setting.test;
    test.pressure_kpa = setting.head.pressure_kpa;
    test.surface_m3_h = arguments.number("--surface-m3-h").value_or(0);
    test.flow_l_min = arguments.number("--flow-l-min").value_or(0);
    test.fasted_h = arguments.number("--fasted-h").value_or(0);
    const bool fish = std::any_of(test.tank.fish.begin(), test.tank.fish.end(),
                                  [](const FishGroup& group) { return group.count > 0; });
    if (fish && !arguments.has("--fasted-h")) {
        say("coldtank: how long before the test were the fish fed? --fasted-h N\n");
        return kUsage;
    }
    std::optional<double> end_h;
    for (const auto& [name, into] : {std::pair("--off", &test.off_h), std::pair("--on", &test.on_h),
                                     std::pair("--end", &end_h)}) {
        if (!arguments.has(name)) continue;
        *into = io::hours_in(log, arguments.text(name));
        if (*into && **into <= log.points.back().hours) continue;
        say("coldtank: {}: \"{}\" is no time of this log, which writes {}\n", name,
            io::shortened(arguments.text(name)), io::printable(log.when[0]));
        return kUsage;
    }
    if (test.off_h && test.on_h && !(*test.off_h < *test.on_h)) {
        say("coldtank: --off must lie before --on\n");
        return kUsage;
    }
    if (end_h) log.end_at(*end_h);
    if (arguments.has("--no-air")) {
        if (fish) {
            say("coldtank: --no-air is of a tank without fish\n");
            return kUsage;
        }
        setting.ran = io::DropRan::surface;
    }
    return 0;
}

int run(const Arguments& arguments) {
    const auto now = time_of_run(arguments.text("--date"));
    if (!now) return kUsage;
    if (arguments.has("--before")) return before(arguments, *now);
    const std::vector<std::string>& files = arguments.all("FILE");
    if (files.size() > 2) {
        say("coldtank: one log and one description at a time\n");
        return kUsage;
    }
    if (files.size() < 2 && arguments.has("--tank")) {
        say("coldtank: --tank is of a description, which stands behind the log\n");
        return kUsage;
    }
    if (files.size() < 2 && arguments.has("--species")) {
        say("coldtank: --species is for a description; the model goes by weight and temperature\n");
        return kUsage;
    }
    if (given(arguments, {"--readings", "--max-age", "--oxygen"},
              "is for --before; a log needs none")) {
        return kUsage;
    }
    io::DropLog log = io::read_drop_log(files[0]);
    std::fputs(io::errors_as_text(log.errors).c_str(), stderr);
    if (log.unreadable) return kNoInput;
    if (log.points.empty()) {
        if (log.errors.empty()) say("coldtank: {}: no rows\n", io::printable(files[0]));
        return kData;
    }
    io::DropSetting setting;
    const int wrong = set_up(arguments, log, setting);
    if (wrong != 0) {
        // Fish in danger are told of, whatever was mistyped.
        const std::string alarm = io::alarm_of(log, kDropStop);
        if (!alarm.empty() && arguments.number("--biomass") != 0.0) say("NOW: {}\n", alarm);
        return wrong;
    }
    const io::DropReport report = io::make_drop_report(std::move(setting), std::move(log));
    const io::DropRun about{display_of(arguments), *now, 1, report.verdict};
    const std::string out =
        io::written(io::kDropFormats, arguments.text("--format"), std::vector{report}, about);
    const int status = std::max<int>(status_of(report, report.verdict),
                                     report.verdict == Status::unchecked ? kWarn : kPass);
    return std::max(status, write_results(arguments, out));
}

}  // namespace

const Command kDroptest{
    "droptest",
    "A log of oxygen with all off, then the air on: what your fish breathe and your stones bring; "
    "first whether such a test is safe.",
    "  coldtank droptest --before farm.json --readings readings.csv\n"
    "  coldtank droptest log.csv farm.json --tank \"north round\" --fasted-h 24\n"
    "  coldtank droptest log.csv --volume-l 2000 --biomass 20 --weight 250 --fasted-h 24\n\n"
    "Exit status: 0 a conclusion (or: safe), 1 a warning or no conclusion, 2 danger (or:\n"
    "not safe); 64, 65, 66, 74 as budget.",
    kOptions, run};

}  // namespace coldtank::cli
