#include "coldtank/source.hpp"

#include <algorithm>

#include "coldtank/budget.hpp"
#include "coldtank/remedy.hpp"
#include "judgement.hpp"

namespace coldtank {

std::vector<Constant> sources() {
    std::vector<Constant> all;
    for (const auto part : {water_sources(), fish_sources(), aeration_sources(), budget_sources(),
                            judgement_sources(), remedy_sources()}) {
        all.insert(all.end(), part.begin(), part.end());
    }
    for (const SpeciesEntry& entry : species_table()) {
        const Species& s = entry.species;
        const auto listed = [&](const Constant& c) { return c.name == s.optimum_c.name; };
        if (std::any_of(all.begin(), all.end(), listed)) continue;  // a strain
        all.insert(all.end(),
                   {s.optimum_c, s.warn_above_c, s.feeding_stop_c, s.fail_above_c, s.warn_below_c,
                    s.density_warn_kg_m3, s.male_mature_months, s.female_mature_months});
    }
    return all;
}

}  // namespace coldtank
