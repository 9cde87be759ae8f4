#include "report/record.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <span>

#include "report/contents.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

// What the tank was worked out from, in the keys of the description.
void list_inputs(const TankReport& report, Fields& out) {
    const Tank& tank = report.input;
    const Coefficients& k = tank.coefficients;
    // Of several waters only where they come from.
    const Inflow inflow = tank.inflow.size() == 1 ? tank.inflow.front() : Inflow{};
    std::vector<std::string> above;
    for (const Inflow& each : tank.inflow) {
        if (!each.from.empty()) above.push_back(each.from);
    }
    double sotr_sum_g_h = 0;
    double pure_g_h = 0;
    for (const Aerator& aerator : tank.aeration) {
        sotr_sum_g_h += sotr_g_h(aerator, k);
        pure_g_h += pure_oxygen_g_h(aerator, k);
    }
    double mean_weight_g = 0;
    double died = 0;
    for (const FishGroup& group : tank.fish) mean_weight_g += group.count * group.mean_weight_g;
    if (report.readings) {
        for (const UsedReading& each : report.readings->list) {
            if (each.column == "died" && each.used) died += each.value;
        }
    }
    const double count = report.budget.fish_count;
    out.number("volume_l", tank.volume_l);
    out.number("temperature_c", tank.water.temperature_c);
    out.number("peak_temperature_c", report.budget.peak_temperature_c);
    out.number("ph", tank.water.ph);
    out.number("alkalinity_mg_l", tank.water.alkalinity_mg_l);
    out.number("salinity_g_kg", tank.water.salinity_g_kg);
    out.number("oxygen_mg_l", tank.readings.oxygen_mg_l);
    out.number("tan_mg_l", tank.readings.tan_mg_l);
    out.number("nitrite_mg_l", tank.readings.nitrite_mg_l);
    out.number("nitrate_mg_l", tank.readings.nitrate_mg_l);
    out.number("chloride_mg_l", tank.readings.chloride_mg_l);
    out.number("carbon_dioxide_mg_l", tank.readings.carbon_dioxide_mg_l);
    out.number("current_cm_s", tank.readings.current_cm_s);
    out.number("gas_pressure_percent", tank.readings.gas_pressure_percent);
    out.number("flow_l_min", flow_l_min_of(tank));
    out.text_or_null("inflow_from", joined(above, ", "));
    out.number("inflow_oxygen_mg_l", inflow.oxygen_mg_l);
    out.number("inflow_oxygen_percent", inflow.oxygen_percent);
    out.number("inflow_tan_mg_l", inflow.tan_mg_l);
    out.number("inflow_carbon_dioxide_mg_l", inflow.carbon_dioxide_mg_l);
    out.number("inflow_ph", inflow.ph);
    out.number("inflow_alkalinity_mg_l", inflow.alkalinity_mg_l);
    out.number("inflow_chlorine_mg_l", inflow.chlorine_mg_l);
    out.truth("keeps_flowing", inflow.keeps_flowing);
    out.number("mean_weight_g", count > 0 ? std::optional(mean_weight_g / count) : std::nullopt);
    out.number("died", died);
    out.number("ration_g_day", tank.feed.ration_g_day);
    out.number("ration_percent_day", tank.feed.ration_percent_day);
    out.number("protein_percent", tank.feed.protein_percent);
    out.number("oxygen_per_feed_g_kg",
               tank.feed.oxygen_per_feed_g_kg.value_or(k.oxygen_per_feed_g_kg));
    out.number("peak_factor", tank.feed.peak_factor.value_or(k.peak_factor));
    out.number("fasted_h", tank.feed.fasted_h);
    out.number("air_flow_l_min", air_flow_l_min(tank.aeration));
    out.number("sotr_g_h", sotr_sum_g_h);
    out.number("pure_oxygen_g_h", pure_g_h);
    out.objects("fish", {}, tank.fish, [&](const FishGroup& group) {
        out.text_or_null("name", group.name);
        out.text("species", group.species_name);
        out.number("count", group.count);
        out.number("mean_weight_g", group.mean_weight_g);
        out.number("age_months", group.age_months);
        out.number("condition_factor", group.condition_factor);
        out.number("ration_g_day", group.ration_g_day);
        out.number("respiration_factor", group.respiration_factor);
    });
}

const LoopReport* loop_of(const Report& report, const TankReport& tank) {
    for (const LoopReport& loop : report.loops) {
        if (tank.input.loop && loop.budget.loop == tank.input.loop->name) return &loop;
    }
    return nullptr;
}

void list_record(const Report& report, const TankReport& tank, const Instant& now, Fields& out) {
    out.text("time", text_of(now));
    out.text("site", report.site->name);
    out.number("altitude_m", report.site->altitude_m);
    out.number("pressure_kpa", report.pressure_kpa);
    out.text("file", place_of(report));
    out.text_or_null("loop", tank.input.loop ? tank.input.loop->name : "");
    out.object("inputs", [&] { list_inputs(tank, out); });
    list_contents(tank, Purpose::record, out);
    const LoopReport* loop = loop_of(report, tank);
    if (out.has(loop != nullptr)) {
        out.object("loop_budget", [&] {
            list_contents(loop != nullptr ? *loop : LoopReport{}, Purpose::record, out);
        });
    }
    out.text_or_null("told", tank.told);
    out.text_or_null("loop_told", loop == nullptr ? "" : loop->told);
    out.text(kRecordEnd, kRecordWhole);
}

// Hears a record and keeps its scalars by column: those of an object under its name and "_"; those
// of lists have no column.
class Cells final : public Fields {
public:
    // For the columns alone: hears of all that a record may have.
    explicit Cells(bool columns_only = false) : columns_only_(columns_only) {}

    std::vector<std::string> columns;
    std::map<std::string, std::string> cells;

    void number(std::string_view key, std::optional<double> value) override {
        put(key, value ? exact(*value) : "");
    }
    void whole(std::string_view key, std::optional<std::size_t> value) override {
        put(key, value ? std::to_string(*value) : "");
    }
    void text(std::string_view key, std::string_view value) override {
        put(key, std::string(value));
    }
    void truth(std::string_view key, bool value) override { put(key, value ? "true" : "false"); }
    void null(std::string_view key) override { put(key, {}); }
    void begin_object(std::string_view key) override {
        before_.push_back(prefix_.size());
        const bool top = before_.size() == 2;
        prefix_ += top && key == "inputs" ? "input" : top && key == "loop_budget" ? "loop" : key;
        if (!key.empty()) prefix_ += '_';
    }
    void end_object() override {
        prefix_.resize(before_.back());
        before_.pop_back();
    }
    void begin_list(std::string_view /*key*/) override { ++lists_; }
    void end_list() override { --lists_; }
    bool has(bool there) override { return there || columns_only_; }

private:
    void put(std::string_view key, std::string value) {
        if (lists_ > 0) return;
        std::string column = prefix_ + std::string(key);
        if (column == "loop_loop") return;  // it stands under "loop"
        if (columns_only_) columns.push_back(column);
        cells.insert_or_assign(std::move(column), std::move(value));
    }

    bool columns_only_;
    int lists_ = 0;
    std::string prefix_;
    std::vector<std::size_t> before_;
};

// The checks of a loop, in the order of its report; those of a tank stand in that of CheckId.
constexpr CheckId kLoopChecks[] = {CheckId::biofilter, CheckId::loop_flow,   CheckId::nitrite,
                                   CheckId::nitrate,   CheckId::alkalinity,  CheckId::plants,
                                   CheckId::chlorine,  CheckId::input_doubt, CheckId::readings};
static_assert(std::ssize(kLoopChecks) ==
              std::count_if(std::begin(kChecks), std::end(kChecks), [](const CheckInfo& info) {
                  return info.owner == Owner::loop || info.owner == Owner::both;
              }));

// The checks that may stand in a record of a tank, or of its loop.
std::vector<CheckInfo> checks_of(Owner owner) {
    std::vector<CheckInfo> all;
    if (owner == Owner::loop) {
        for (const CheckId id : kLoopChecks) all.push_back(info_of(id));
    } else {
        std::copy_if(std::begin(kChecks), std::end(kChecks), std::back_inserter(all),
                     [](const CheckInfo& info) {
                         return info.owner == Owner::tank || info.owner == Owner::both;
                     });
    }
    return all;
}

bool has_share(const CheckInfo& check, Owner owner) {
    return check.share == owner || check.share == Owner::both;
}

std::vector<std::string> columns_of(const CheckInfo& check, Owner owner,
                                    const std::string& prefix) {
    const std::string name = prefix + std::string(check.name);
    std::vector<std::string> out{name + "_status"};
    // What has no limits is never judged.
    if (check.warn != Ends::none) out.push_back(name + "_value");
    if (has_share(check, owner)) out.push_back(name + "_used_percent");
    for (const auto& [word, ends] :
         {std::pair{"_warn", check.warn}, std::pair{"_fail", check.fail}}) {
        if (ends == Ends::both) {
            out.push_back(name + word + "_low");
            out.push_back(name + word + "_high");
        } else if (ends != Ends::none) {
            out.push_back(name + word);
        }
    }
    return out;
}

// The first columns; figures follow in the order of the JSON.
constexpr std::string_view kFront[] = {"time",        "site", "altitude_m",   "pressure_kpa",
                                       "file",        "tank", "loop",         "verdict",
                                       "first_limit", "fish", "usual_verdict"};

std::string cell_of(std::optional<double> value) { return value ? exact(*value) : ""; }

void add_checks(Owner owner, const std::vector<Check>& checks, const std::string& prefix,
                std::map<std::string, std::string>& out) {
    for (const CheckInfo& info : checks_of(owner)) {
        const auto check = std::find_if(checks.begin(), checks.end(),
                                        [&](const Check& each) { return each.id == info.id; });
        if (check == checks.end()) continue;
        const std::string name = prefix + std::string(info.name);
        out[name + "_status"] = name_of(check->status);
        if (info.warn != Ends::none) out[name + "_value"] = cell_of(check->value);
        if (has_share(info, owner)) out[name + "_used_percent"] = cell_of(check->used_percent);
        const auto add = [&](const std::string& limit, Ends ends, const Bound& bound) {
            if (ends == Ends::low) out[limit] = cell_of(bound.low);
            if (ends == Ends::high) out[limit] = cell_of(bound.high);
            if (ends != Ends::both) return;
            out[limit + "_low"] = cell_of(bound.low);
            out[limit + "_high"] = cell_of(bound.high);
        };
        add(name + "_warn", info.warn, check->warn);
        add(name + "_fail", info.fail, check->fail);
    }
}

std::string assumed_words(const std::vector<Assumption>& assumed) {
    std::vector<std::string> words;
    for (const Assumption& each : assumed) words.push_back(words_of(each));
    return joined(words, "; ");
}

}  // namespace

std::vector<std::string> log_columns() {
    std::vector<std::string> out(std::begin(kFront), std::end(kFront));
    const auto add_new = [&](const std::string& column) {
        if (std::find(out.begin(), out.end(), column) == out.end()) out.push_back(column);
    };
    Report sample;
    sample.site = Site{};
    Cells heard(true);
    heard.object({}, [&] { list_record(sample, TankReport{}, Instant{}, heard); });
    const auto add = [&](Owner owner, const std::string& prefix) {
        for (const std::string& column : heard.columns) {
            if (column != kRecordEnd && column.starts_with("loop_") == (owner == Owner::loop)) {
                add_new(column);
            }
        }
        for (const CheckInfo& check : checks_of(owner)) {
            for (const std::string& name : columns_of(check, owner, prefix)) add_new(name);
        }
    };
    add(Owner::tank, "");
    add(Owner::loop, "loop_");
    out.emplace_back("loop_assumed");
    out.emplace_back("assumed");
    out.emplace_back(kRecordEnd);
    return out;
}

NewRecords new_records(std::span<const Report> reports, const Instant& now, bool json_lines) {
    NewRecords records;
    records.columns = log_columns();
    for (const Report& report : reports) {
        for (const TankReport& tank : report.tanks) {
            if (json_lines) {
                JsonWriter out(JsonWriter::Style::line);
                out.object({}, [&] { list_record(report, tank, now, out); });
                records.json_lines.push_back(out.take());
                continue;
            }
            Cells heard;
            heard.object({}, [&] { list_record(report, tank, now, heard); });
            std::map<std::string, std::string>& cells = heard.cells;
            add_checks(Owner::tank, tank.budget.checks, "", cells);
            if (const LoopReport* loop = loop_of(report, tank)) {
                add_checks(Owner::loop, loop->budget.checks, "loop_", cells);
                cells["loop_assumed"] = assumed_words(loop->budget.assumed);
            }
            std::vector<std::string> fish;
            for (const FishGroup& group : tank.input.fish) {
                fish.push_back(fmt::format("{} {} of {} g", name_of(group), exact(group.count),
                                           exact(group.mean_weight_g)));
            }
            cells["fish"] = joined(fish, "; ");
            cells["assumed"] = assumed_words(tank.budget.assumed);
            records.cells.push_back(std::move(cells));
        }
    }
    return records;
}

}  // namespace coldtank::io
