// How much a tank can carry: the inverse of its whole budget, exact to one fish.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "coldtank/remedy.hpp"

namespace coldtank {

// Which limits a stock must keep.
enum class Level { warn, fail };

struct Stock {
    double count;
    double biomass_kg;
};

struct CheckCapacity {
    CheckId check;
    std::optional<Stock> stock;  // none where the check cannot be judged, or sets no limit
};

struct TankCapacity {
    std::string tank;
    bool has_fish = true;             // false: no fish are described, nothing can be said
    std::optional<Stock> stock = {};  // the least of by_check
    std::optional<CheckId> limited_by = {};
    std::string limited_in = {};  // the tank of that check, where it is another or one of several
    std::vector<CheckCapacity> by_check = {};
    std::vector<CheckId> unchecked =
        {};  // stock checks that cannot be judged: then it is "at most"
    std::vector<CheckId> not_by_stock = {};  // other checks that do not pass, whatever the stock
    bool no_supply = false;                  // nothing brings oxygen
    // Too warm or too cold for these fish, by the limits of the level: then `stock` is by the other
    // checks alone, and none can live there.
    bool wrong_temperature = false;
};

// The largest stock N such that every count 1..N keeps the limits; 0 where one fish is too many.
// Groups scale together, in exact proportion, and their rations with them. Readings of today's
// stock are left out (without_todays_readings).
// Of a tank on a loop the others stay as they are, and the loop's stock checks count too: biofilter
// (without its warnings of cold and age), loop_flow and nitrate. Of a tank of a row so do those of
// the tanks below it that water carries: oxygen, reserve, ammonia, carbon dioxide.
// `by_check` only where it is asked for: it takes five times as long.
enum class Detail { each_check, total };
TankCapacity capacity_of(const System& system, std::size_t tank, Level level,
                         Detail detail = Detail::each_check);
// The checks of a tank and of its loop that today's readings put over the limits of a level, as
// they stand today: a capacity leaves those readings out, and is then "at most".
// The budgets of the system with and without_todays_readings().
std::vector<Check> over_by_readings(const SystemBudget& today, const SystemBudget& without,
                                    std::size_t tank, Level level);

// All tanks of a loop or a row in their present proportion; `tank` of the answer is the loop's
// name, or the tanks' from the top down.
TankCapacity capacity_of_all(const System& system, Level level);

// The tank with so many fish in all, in the present proportion, the rations with them, without the
// readings of today's stock. The tank has fish.
Tank stocked_with(const Tank& tank, double count);

// A question about other fish or another day than described. An empty tank is filled where both a
// species and a weight are asked about.
struct Variation {
    std::optional<double> temperature_c = {};  // all day long: the mean and the peak
    std::optional<double> mean_weight_g = {};  // of every group; then they eat by the table
    std::optional<Species> species = {};       // of every group
    std::string species_name = {};
    std::optional<Species> usual_species = {};
};
Tank varied(const Tank& tank, const Variation& variation);

// What would let a tank carry so many fish: single changes that make every stock check pass, else
// the smallest pair. Empty where it carries them as it is.
struct FitPlan {
    Plan plan;                      // always on something
    Status verdict = Status::pass;  // the worst of the stock checks; unchecked where one is
    // Tanks below for which they would be too many: no change is searched for.
    std::vector<std::string> too_many_for = {};
};
FitPlan plan_fit(const System& system, std::size_t tank, double count, Sold sold = Sold::metric);

// One input over its published or judged spread, all else as described.
enum class Uncertain { demand_rule, oxygen_per_feed, peak_factor, diffuser_share };
struct Spread {
    Uncertain input;
    double low;   // capacity in fish at the end that allows least
    double high;  // at the end that allows most
};
struct CapacityRange {
    double low;                   // all inputs at the end that allows least
    double high;                  // all at the end that allows most
    std::vector<Spread> spreads;  // the one that moves it most first; those that do not, left out
};
// None for a tank without fish or without a capacity.
std::optional<CapacityRange> capacity_range(const System& system, std::size_t tank, Level level);

std::span<const Constant> capacity_sources() noexcept;

}  // namespace coldtank
