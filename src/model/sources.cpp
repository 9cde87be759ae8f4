#include "coldtank/sources.hpp"

#include <algorithm>
#include <array>

#include "assumed.hpp"
#include "coldtank/capacity.hpp"
#include "coldtank/droptest.hpp"
#include "coldtank/filter_start.hpp"
#include "coldtank/haul.hpp"
#include "coldtank/loop.hpp"
#include "coldtank/outage.hpp"
#include "coldtank/plan.hpp"
#include "coldtank/season.hpp"
#include "coldtank/spread.hpp"
#include "coldtank/trend.hpp"
#include "coldtank/water_change.hpp"
#include "judgement.hpp"

namespace coldtank {

std::string_view name_of(Basis basis) noexcept {
    constexpr std::array<std::string_view, 5> names{"published", "common practice", "from memory",
                                                    "judgement", "given"};
    return names[static_cast<std::size_t>(basis)];
}

std::vector<Source> sources() {
    struct Listed {
        std::string_view used_in;
        std::span<const Constant> constants;
    };
    std::vector<Source> all;
    const auto coefficients = [&](std::string_view used_in) {
        for (const CoefficientInfo& info : kCoefficients) {
            if (info.used_in == used_in) {
                all.push_back({used_in, info.constant, info.key, info.likely});
            }
        }
    };
    for (const Listed& part :
         {Listed{"water", water_sources()}, Listed{"fish", fish_sources()},
          Listed{"aeration", aeration_sources()}, Listed{"balance", budget_sources()},
          Listed{"loops", loop_sources()}, Listed{"loops", filter_start_sources()},
          Listed{"checks", judgement_sources()}, Listed{"checks", assumed_sources()},
          Listed{"remedies", remedy_sources()}, Listed{"remedies", plan_sources()},
          Listed{"remedies", water_change_sources()}, Listed{"outage", outage_sources()},
          Listed{"haul", haul_sources()}, Listed{"droptest", droptest_sources()},
          Listed{"capacity", capacity_sources()}, Listed{"season", growth_sources()},
          Listed{"season", season_sources()}, Listed{"trend", trend_sources()},
          Listed{"spread", spread_sources()}}) {
        if (all.empty() || all.back().used_in != part.used_in) coefficients(part.used_in);
        for (const Constant& constant : part.constants) all.push_back({part.used_in, constant});
    }
    for (const SpeciesEntry& entry : species_table()) {
        const Species& s = entry.species;
        const auto listed = [&](const Source& each) {
            return each.constant.name == s.optimum_c.name;
        };
        if (std::any_of(all.begin(), all.end(), listed)) continue;  // a strain
        for (const Constant& constant :
             {s.optimum_c, s.warn_above_c, s.feeding_stop_c, s.fail_above_c, s.warn_below_c,
              s.density_warn_kg_m3, s.density_low_kg_m3, s.male_mature_months,
              s.female_mature_months}) {
            if (constant.value) all.push_back({"species", constant});
        }
    }
    return all;
}

}  // namespace coldtank
