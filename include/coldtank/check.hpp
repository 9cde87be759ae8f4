// What is judged: checks, what decides them, and the verdict that follows.
#pragma once

#include <cstddef>
#include <iterator>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

namespace coldtank {

enum class Status { pass, unchecked, warn, fail };  // in order of severity
constexpr Status worse(Status a, Status b) { return a < b ? b : a; }

// In the order of the report.
enum class CheckId {
    oxygen,
    oxygen_reserve,
    ammonia,
    total_ammonia,
    carbon_dioxide,
    temperature,
    ph,
    density,
    ration,
    exchange,
    oxygen_excess,
    size_spread,
    current,
    nitrite,
    gas_pressure,
    salinity,
    chlorine,
    early_life,   // eggs and sac fry, which no other check covers: never judged
    input_doubt,  // what is described or read may be a slip of the pen or of a meter
    // only where a readings file is given
    readings,  // their age
    deaths,
    // of a loop
    biofilter,
    loop_flow,
    nitrate,
    alkalinity,
    plants,
    // of a trip
    load,
    fasting
};

// Which ends the limits of a check have.
enum class Ends { none, low, high, both };
// Whose check it is, or who can tell a share of its limit.
enum class Owner { nobody, tank, loop, both };

// Whether the number of fish decides it: see capacity.hpp.
enum class Decides { other, stock };
// When fish are in danger where it fails.
enum class Danger { now, later };

// All that is fixed of a check. Its judging function stands in judgement.cpp or loop.cpp, its words
// in src/report.
struct CheckInfo {
    CheckId id;
    std::string_view name;   // in JSON, CSV and the logbook
    std::string_view title;  // on a page
    std::string_view unit;   // "mg/L (N)": of a concentration, as what it is counted
    Ends warn = Ends::none;
    Ends fail = Ends::none;
    Owner share = Owner::nobody;  // who can tell a share of its warn limit
    Decides decides = Decides::other;
    Danger danger = Danger::now;
    Owner owner = Owner::tank;
};
// One row a check, in the order of CheckId.
inline constexpr CheckInfo kChecks[] = {
    {CheckId::oxygen, "oxygen", "oxygen", "mg/L", Ends::low, Ends::low, Owner::tank,
     Decides::stock},
    {CheckId::oxygen_reserve, "oxygen_reserve", "oxygen reserve", "min", Ends::low, Ends::low,
     Owner::tank, Decides::stock},
    {CheckId::ammonia, "ammonia", "ammonia as NH3", "mg/L (NH3)", Ends::high, Ends::high,
     Owner::tank, Decides::stock},
    {CheckId::total_ammonia, "total_ammonia", "total ammonia", "mg/L (N)", Ends::high, Ends::high,
     Owner::tank, Decides::stock},
    {CheckId::carbon_dioxide, "carbon_dioxide", "carbon dioxide", "mg/L", Ends::high, Ends::high,
     Owner::tank, Decides::stock},
    {CheckId::temperature, "temperature", "temperature", "degC", Ends::both, Ends::high},
    {CheckId::ph, "ph", "pH", "pH", Ends::both, Ends::both},
    {CheckId::density, "density", "density", "kg/m3", Ends::high, Ends::high, Owner::tank,
     Decides::stock, Danger::later},
    {CheckId::ration, "ration", "ration", "percent/day", Ends::high, Ends::none, Owner::nobody,
     Decides::other, Danger::later},
    {CheckId::exchange, "exchange", "exchange", "1/h", Ends::low, Ends::none, Owner::nobody,
     Decides::other, Danger::later},
    {CheckId::oxygen_excess, "oxygen_excess", "oxygen excess", "%", Ends::high, Ends::high},
    {CheckId::size_spread, "size_spread", "size spread", "ratio", Ends::high, Ends::high,
     Owner::nobody, Decides::other, Danger::later},
    {CheckId::current, "current", "current", "body lengths/s", Ends::both, Ends::high,
     Owner::nobody, Decides::other, Danger::later},
    {CheckId::nitrite, "nitrite", "nitrite", "mg/L (N)", Ends::high, Ends::high, Owner::loop,
     Decides::other, Danger::now, Owner::both},
    {CheckId::gas_pressure, "gas_pressure", "gas pressure", "%", Ends::high, Ends::high},
    {CheckId::salinity, "salinity", "salinity", "g/kg", Ends::high, Ends::high},
    {CheckId::chlorine, "chlorine", "chlorine", "mg/L", Ends::high, Ends::high, Owner::loop,
     Decides::other, Danger::now, Owner::both},
    {CheckId::early_life, "early_life", "early life", "-", Ends::none, Ends::none},
    {CheckId::input_doubt, "input_doubt", "input doubt", "slips", Ends::high, Ends::none,
     Owner::nobody, Decides::other, Danger::now, Owner::both},
    {CheckId::readings, "readings", "readings", "h", Ends::high, Ends::none, Owner::nobody,
     Decides::other, Danger::now, Owner::both},
    {CheckId::deaths, "deaths", "deaths", "%", Ends::high, Ends::high},
    {CheckId::biofilter, "biofilter", "biofilter", "mg/L (N)", Ends::high, Ends::high, Owner::loop,
     Decides::stock, Danger::now, Owner::loop},
    {CheckId::loop_flow, "loop_flow", "loop flow", "mg/L (N)", Ends::high, Ends::high, Owner::loop,
     Decides::stock, Danger::now, Owner::loop},
    {CheckId::nitrate, "nitrate", "nitrate", "mg/L (N)", Ends::high, Ends::none, Owner::loop,
     Decides::stock, Danger::later, Owner::both},
    {CheckId::alkalinity, "alkalinity", "alkalinity", "mg/L", Ends::low, Ends::low, Owner::loop,
     Decides::other, Danger::now, Owner::loop},
    {CheckId::plants, "plants", "plants", "g feed/m2/day", Ends::both, Ends::none, Owner::nobody,
     Decides::other, Danger::now, Owner::loop},
    {CheckId::load, "load", "load", "kg/L", Ends::high, Ends::none, Owner::nobody, Decides::other,
     Danger::now, Owner::nobody},
    {CheckId::fasting, "fasting", "fasting", "h", Ends::low, Ends::none, Owner::nobody,
     Decides::other, Danger::later, Owner::nobody},
};
constexpr const CheckInfo& info_of(CheckId id) { return kChecks[static_cast<std::size_t>(id)]; }
constexpr std::string_view name_of(CheckId id) { return info_of(id).name; }
static_assert(std::size(kChecks) == static_cast<std::size_t>(CheckId::fasting) + 1);
static_assert([] {
    for (const CheckInfo& info : kChecks) {
        if (&info_of(info.id) != &info || info.name.empty() || info.unit.empty()) return false;
    }
    return true;
}());

std::string_view name_of(Status status) noexcept;  // "pass"

// What a value must keep to: not below low, not above high.
struct Bound {
    std::optional<double> low = {};
    std::optional<double> high = {};
};

// Where a value stands: a NaN fails.
Status status_of(double value, const Bound& warn, const Bound& fail) noexcept;

// What decides a status beside the value and its limits.
enum class Reason {
    demand_over_supply,  // value and limit in g/h
    rises_without_end,   // nothing keeps up with it
    hours_to_warn,       // without flow it gathers: value until the warn limit, limit in hours
    hours_to_fail,       // the same until the fail limit
    days_to_warn,        // the same of nitrate on a loop without exchange
    low_has_passed,      // an oxygen read lately, mg/L, below limit
    row_not_used,        // of readings: a fault, a clock ahead, nothing in it
    as_oxygen,           // a reserve from assumed saturation is no better than the oxygen check
    least_by_balance,    // mg/L that even the cleanest inflow leaves, over limit
    filter_age,          // percent, below limit
    filter_cold,         // degC, below limit
    filter_starved       // oxygen of the supply at peak, mg/L, below limit
};
std::string_view name_of(Reason reason) noexcept;  // "hours_to_fail"

struct Because {
    Reason reason;
    Status status;                // what it makes of the check
    std::optional<double> value;  // in the unit of the reason
    std::optional<double> limit;
};

// `status` is the worst of where `value` stands and of `because`, or unchecked.
struct Check {
    CheckId id;
    Status status = Status::unchecked;
    std::optional<double> value = {};
    std::string_view unit;
    Bound warn = {};
    Bound fail = {};
    std::optional<double> used_percent = {};  // share of the warn limit that is used up
    bool exhausted = false;                   // a demand that nothing meets: used without end
    bool own_limit = false;                   // the description sets a limit of this check
    std::string_view missing = {};            // what an unchecked check needs to be judged
    std::vector<Because> because = {};
};

// A check of which nothing is known yet.
Check new_check(CheckId id);

// Takes a reason into a check, which is no better than it.
void add_reason(Check& check, const Because& because);

// What `value` alone makes of a check: pass where there is none.
Status status_of_value(const Check& check) noexcept;
// What it is now, without what will only be in hours or days.
Status status_now(const Check& check) noexcept;

// The worst of some checks, and the one that limits first; unchecked where there is no check.
struct Verdict {
    Status worst = Status::unchecked;
    CheckId first_limit = CheckId::oxygen;
};
Verdict verdict_of(std::span<const Check> checks) noexcept;

}  // namespace coldtank
