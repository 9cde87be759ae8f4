// What to change so that a whole system passes: three ways, each proved on the whole balance.
#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

#include "coldtank/remedy.hpp"

namespace coldtank {

// fish: fewer fish or less feed. equipment: more air, water or room, and the fish stay. both: some
// of each.
enum class Way { fish, equipment, both };
constexpr std::string_view name_of(Way way) noexcept {
    return way == Way::fish ? "fish" : way == Way::equipment ? "equipment" : "both";
}

// A change to one part of a system, to be carried out after those before it. Values as of remedies.
struct Change {
    Part part;
    Remedy remedy;
};

// What a way makes of one part.
struct PartOutcome {
    // The worse of the changed description as it is written and of it without today's readings.
    Status verdict = Status::unchecked;
    struct Left {
        CheckId check;
        Status status;
        bool until_measured;  // only a reading of today stops it
    };
    std::vector<Left> left;  // what warns or fails then
};

struct WayPlan {
    Way way;
    std::vector<Change> changes;        // fish first
    std::vector<PartOutcome> outcomes;  // of the tanks, then of the loop
    Status worst = Status::unchecked;
    int fails = 0;  // readings of today aside
    int warns = 0;
};

struct Plans {
    std::vector<WayPlan> ways;  // the best first; none where nothing can be changed for the better
    std::int64_t assessments = 0;  // of the whole system
};

inline constexpr std::int64_t kMostPlanAssessments = 100;

// Ways to make all of a system pass, or where something cannot be mended as good as it gets. Empty
// where every part passes. `budget` is the system's.
Plans plan_ways(const System& system, const SystemBudget& budget, Sold sold = Sold::metric);

// The system with changes carried out, one after the other; of fish that are taken out each group
// keeps whole ones.
System with_changes(const System& system, const SystemBudget& budget,
                    const std::vector<Change>& changes);

std::span<const Constant> plan_sources() noexcept;

}  // namespace coldtank
