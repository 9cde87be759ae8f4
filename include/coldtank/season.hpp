// A year in the tanks, before it happens: fish grow day by day, and each day has its budget.
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "coldtank/capacity.hpp"
#include "coldtank/growth.hpp"

namespace coldtank {

double warm_spell_c_of(const SeasonInput& season) noexcept;

// The mean temperature of each day from `first` to `last`. Monthly means: straight lines through
// the middles of the months, laid so that the mean of the days of each month is the one that is
// told. Empty where nothing tells a temperature, or daily ones do not cover the time.
std::vector<double> season_temperatures(const SeasonInput& season, Day first, Day last);

// A day in one tank. Weights at each pace; the checks are judged on the heaviest that may be in the
// tank: fast, no more than the target.
struct SeasonDay {
    Day day;
    double temperature_c;       // the day's mean, without the warm spell
    double peak_temperature_c;  // the warmest hour that is judged
    double fish_count;
    double mean_weight_g, mean_weight_low_g, mean_weight_high_g;
    double biomass_kg;       // expected
    double biomass_high_kg;  // judged
    double ration_g_day;     // expected
    std::optional<double> oxygen_lowest_mg_l;
    std::optional<double> reserve_min;
    double demand_peak_g_h;
    Status verdict;
    CheckId first_limit;
    std::optional<double> used_percent;  // of that check
    bool stocked;                        // at any pace
};

struct SeasonTrouble {
    Day day;
    CheckId check;
    double peak_temperature_c;
    std::optional<double> mean_weight_g;  // judged; none of a loop
    bool too_cold;                        // of a temperature: on its lower side
};

struct SeasonStock {
    double fish_count = 0;                   // at the start; 0: none
    std::optional<CheckId> stopped_by = {};  // one more, and it goes over its limit
    std::string stopped_in = {};             // another tank, or the loop
    std::optional<Day> date = {};
    std::vector<CheckId> unchecked = {};  // what stock decides and could not be judged
    std::optional<Day> last_safe = {};    // of heat that fails: fish must be out after that day
    std::optional<double> count_until_then = {};  // that keeps the limits up to it
    std::vector<CheckId> not_by_stock = {};       // go over their limits with a single fish
    std::optional<Day> not_by_stock_from = {};
    // With those left aside, where none of them fails.
    std::optional<double> count_by_the_rest = {};
    // The other tanks of its system: planned with it; not; and those in which no fish can be.
    std::vector<std::string> in_proportion_with = {};
    std::vector<std::string> as_they_are = {};
    std::vector<std::string> left_empty = {};

    // That can be stocked at the start, at least for a time.
    double count() const {
        return count_until_then.value_or(count_by_the_rest.value_or(fish_count));
    }
};

// Feed of one size of pellets.
struct PelletFeed {
    double pellet_mm;
    double feed_kg;
};

// What a tank or a loop comes to on the days when it has fish.
struct PartSeason {
    // Of each check the first, in order of time.
    std::vector<SeasonTrouble> warns = {};
    std::vector<SeasonTrouble> fails = {};
    std::vector<CheckId> unchecked = {};  // on any day
    Status verdict = Status::pass;
};

// Fish that thinning takes out.
struct Thinned {
    Day day;
    double fish_count;
    double biomass_kg;  // expected
    bool too_many;      // it asks for more than there are
};

struct LoopSeason : PartSeason {
    std::string loop;
};

struct TankSeason : PartSeason {
    std::string tank;
    double start_count = 0;
    std::vector<SeasonDay> days;
    struct Used {
        CheckId check;
        // Of its limit in percent, a day each; infinite: exhausted; below 0: no share is known.
        std::vector<double> share;
    };
    std::vector<Used> used = {};
    struct Harvest {
        std::optional<Day> slow, expected, fast;
    } harvest = {};
    double feed_kg = 0, feed_low_kg = 0, feed_high_kg = 0;
    struct MonthFeed {
        int year;
        int month;
        double feed_kg;
        std::vector<PelletFeed> pellets;  // as the fish grow
    };
    std::vector<MonthFeed> feed_by_month = {};
    double gain_kg = 0;                     // expected, of the fish that were there
    std::optional<Day> too_warm_from = {};  // the first day over the fail temperature
    int days_too_warm = 0;                  // over it
    int days_warm = 0;                      // over the warn temperature
    int days_cold = 0;                      // under it
    int days_unfed_warm = 0;                // days without feed in water over the optimum
    int days_held_back = 0;                 // the ration holds fast growth back
    int days_unfed = 0;                     // all others
    std::vector<Thinned> thinned = {};
};

struct SystemSeason {
    std::vector<TankSeason> tanks;
    std::optional<LoopSeason> loop;
};

// All of a system through the season: its readings of today are left out. `temperatures` has
// one of each day from the start.
// A pace whose fish weigh what the model does not know is NaN, and fails.
// With `every_days` only each so-many-th day is judged and told, and sums are of those days.
SystemSeason run_season(const System& system, const SeasonInput& season,
                        std::span<const double> temperatures, std::size_t every_days = 1);

// The largest stock of `tanks` at the start with which the whole season keeps the limits, in all
// of the system: in their present proportion (the fullest by whole fish, the others rounded down,
// at least one), groups in theirs, other tanks as they are. A tank that gets too warm is emptied in
// time; one in which something fails with a single fish stays empty, and the others are stocked
// without it; where something only goes over its limit with one, there is none, but what the rest
// allows. What fewer fish make worse (plants, oxygen excess) stands aside. In the order of
// `tanks`; none without fish.
std::vector<SeasonStock> plan_season(const System& system, std::span<const std::size_t> tanks,
                                     const SeasonInput& season,
                                     std::span<const double> temperatures, Level level);

// The air or oxygen with which the oxygen of a tank passes on every day of the season, each change
// alone; proved on all of them.
struct SeasonSupply {
    Day day;  // of the largest share of its limit that oxygen uses
    std::optional<double> oxygen_lowest_mg_l;
    bool passes = true;  // as described
    std::vector<Remedy> remedies = {};
    std::shared_ptr<const Planned> on = {};  // what words of them go by
};
std::optional<SeasonSupply> season_supply(std::size_t tank, const TankSeason& run,
                                          const System& system, const SeasonInput& season,
                                          std::span<const double> temperatures, Sold sold);

// The last day of a season as described.
Day last_day_of(const SeasonInput& season) noexcept;

// What pellets fish of a weight take, mm (common practice).
double pellet_mm(double mean_weight_g) noexcept;

std::span<const Constant> season_sources() noexcept;

}  // namespace coldtank
