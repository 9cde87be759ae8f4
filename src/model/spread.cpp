#include "coldtank/spread.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "numbers.hpp"
#include "sample.hpp"
#include "worlds.hpp"

namespace coldtank {
namespace {

constexpr std::size_t kCheckCount = std::size(kChecks);
constexpr double kWithoutEnd = std::numeric_limits<double>::infinity();

// A tank's checks, or the loop's.
struct PartView {
    const std::vector<Check>& checks;
    Status verdict;
};
template <class Look>
void each_part(const SystemBudget& budget, Look look) {
    std::size_t at = 0;
    for (const TankBudget& tank : budget.tanks) look(at++, PartView{tank.checks, tank.verdict});
    if (budget.loop) look(at, PartView{budget.loop->checks, budget.loop->verdict});
}

// What one check comes to in all worlds.
struct Told {
    bool seen = false;
    std::vector<double> values;              // those that exist; infinite: never
    std::array<std::size_t, 4> counts = {};  // by status
};

struct PartTold {
    Status doubt = Status::pass;  // that what is written is a slip
    std::array<Told, kCheckCount> checks;
    std::size_t all_pass = 0;
    std::size_t nothing_warns = 0;
    std::size_t at_or_below_reading = 0;
};

double percent(std::size_t count, std::size_t of) {
    return 100 * static_cast<double>(count) / static_cast<double>(of);
}

void tell(const SystemBudget& budget, std::vector<PartTold>& all) {
    each_part(budget, [&](std::size_t at, const PartView& part) {
        PartTold& told = all[at];
        Status verdict = told.doubt;
        for (const Check& check : part.checks) {
            if (check.id == CheckId::input_doubt) continue;  // of what is written, in no world
            verdict = worse(verdict, check.status);
            Told& one = told.checks[static_cast<std::size_t>(check.id)];
            one.seen = true;
            ++one.counts[static_cast<std::size_t>(check.status)];
            if (check.value && !std::isnan(*check.value)) {
                one.values.push_back(*check.value);
            } else if (check.status == Status::fail) {  // rises without end, or ends in nothing
                one.values.push_back(check.fail.high ? kWithoutEnd : -kWithoutEnd);
            } else if (check.id == CheckId::oxygen_reserve && check.status == Status::pass) {
                one.values.push_back(kWithoutEnd);
            }
        }
        told.all_pass += verdict == Status::pass ? 1 : 0;
        told.nothing_warns += verdict < Status::warn ? 1 : 0;
    });
    for (std::size_t i = 0; i < budget.tanks.size(); ++i) {
        const OxygenBudget& oxygen = budget.tanks[i].oxygen;
        if (oxygen.measured_mg_l && oxygen.steady_mean_mg_l &&
            *oxygen.steady_mean_mg_l <= *oxygen.measured_mg_l) {
            ++all[i].at_or_below_reading;
        }
    }
}

// What spreads of a check that is asked about: the share of its limit that it uses, and its value
// for where too many worlds have no share.
struct Output {
    std::size_t part;
    CheckId check;
    bool of_value;
};

void figures_of(const SystemBudget& budget, std::span<const Output> outputs,
                std::span<double> out) {
    std::fill(out.begin(), out.end(), kNotANumber);
    each_part(budget, [&](std::size_t at, const PartView& part) {
        for (std::size_t o = 0; o < outputs.size(); ++o) {
            if (outputs[o].part != at) continue;
            for (const Check& check : part.checks) {
                if (check.id != outputs[o].check) continue;
                const auto& figure = outputs[o].of_value ? check.value : check.used_percent;
                if (figure) out[o] = *figure;
            }
        }
    });
}

PartSpread part_of(std::string name, const PartView& described, PartTold& told, std::size_t draws) {
    PartSpread out{.name = std::move(name), .verdict = described.verdict, .checks = {}};
    out.all_pass_percent = percent(told.all_pass, draws);
    out.nothing_warns_percent = percent(told.nothing_warns, draws);
    for (const CheckInfo& info : kChecks) {
        Told& one = told.checks[static_cast<std::size_t>(info.id)];
        const auto as_described =
            std::find_if(described.checks.begin(), described.checks.end(),
                         [&](const Check& check) { return check.id == info.id; });
        const bool is_described = as_described != described.checks.end();
        if (!one.seen && !is_described) continue;
        CheckSpread spread{};
        spread.check = info.id;
        spread.unit = info.unit;
        spread.status = is_described ? as_described->status : Status::pass;
        if (is_described) {
            spread.value = as_described->value;
            spread.warn_low = as_described->warn.low;
            spread.warn_high = as_described->warn.high;
            spread.fail_low = as_described->fail.low;
            spread.fail_high = as_described->fail.high;
        }
        if (info.id == CheckId::input_doubt) {
            one.counts = {};
            one.counts[static_cast<std::size_t>(spread.status)] = draws;
            if (spread.value) one.values.assign(1, *spread.value);
        }
        const auto share = [&](Status status) {
            return percent(one.counts[static_cast<std::size_t>(status)], draws);
        };
        spread.warn_percent = share(Status::warn);
        spread.fail_percent = share(Status::fail);
        spread.unchecked_percent = share(Status::unchecked);
        // Where a world has no such check there is nothing that could go wrong.
        std::size_t present = 0;
        for (const std::size_t count : one.counts) present += count;
        spread.pass_percent = share(Status::pass) + percent(draws - present, draws);
        const double most = std::max({spread.pass_percent, spread.warn_percent, spread.fail_percent,
                                      spread.unchecked_percent});
        spread.certain = most == 100;
        std::sort(one.values.begin(), one.values.end());
        if (!one.values.empty()) {
            constexpr double kLow = 0.05, kMiddle = 0.5, kHigh = 0.95;
            const auto at = [&](double place) {
                const double value = quantile_of(one.values, place);
                return std::isfinite(value) ? std::optional(value) : std::nullopt;
            };
            spread.low = at(kLow);
            spread.median = at(kMiddle);
            spread.high = at(kHigh);
        }
        out.checks.push_back(std::move(spread));
    }
    return out;
}

}  // namespace

SystemSpread spread_of(const System& system, const SpreadQuestion& question) {
    const SystemBudget described = assess_system(system);
    Worlds worlds(system, question);
    std::vector<PartTold> told(system.tanks.size() + (system.loop ? 1 : 0));
    each_part(described, [&](std::size_t at, const PartView& part) {
        for (const Check& check : part.checks) {
            if (check.id == CheckId::input_doubt) told[at].doubt = check.status;
        }
    });
    for (std::size_t row = 0; row < question.draws; ++row) {
        tell(assess_system(worlds.at(0, row)), told);
    }
    SystemSpread out{question.draws, {}, std::nullopt};
    std::vector<Output> outputs;
    each_part(described, [&](std::size_t at, const PartView& view) {
        const bool tank = at < system.tanks.size();
        PartSpread part = part_of(tank ? system.tanks[at].name : system.loop->name, view, told[at],
                                  question.draws);
        for (const CheckSpread& check : part.checks) {
            if (check.certain) continue;
            outputs.push_back({at, check.check, false});
            outputs.push_back({at, check.check, true});
        }
        if (tank) {
            const OxygenBudget& oxygen = described.tanks[at].oxygen;
            if (oxygen.measured_mg_l && oxygen.steady_mean_mg_l) {
                part.at_or_below_reading_percent =
                    percent(told[at].at_or_below_reading, question.draws);
            }
            out.tanks.push_back(std::move(part));
        } else {
            out.loop = std::move(part);
        }
    });
    // Of many tanks fewer rows, so that it ends: their standard errors tell.
    constexpr std::size_t kMostTanksAssessed = 2'000'000;
    constexpr std::size_t kFewestRows = 64;
    const std::size_t a_row = (worlds.inputs() + 2) * system.tanks.size();
    const std::size_t rows =
        std::min(question.base, std::max(kFewestRows, kMostTanksAssessed / a_row));
    if (rows < 2 || outputs.empty() || worlds.inputs() == 0) return out;
    FirstOrderSums sums(worlds.inputs(), outputs.size());
    std::vector<double> at_a(outputs.size()), at_b(outputs.size()), at_ab(outputs.size());
    figures_of(described, outputs, at_a);
    for (double& near : at_a) near = std::isfinite(near) ? near : 0;
    sums.set_shift(at_a);
    for (std::size_t row = 0; row < rows; ++row) {
        figures_of(assess_system(worlds.at(1, row)), outputs, at_b);
        figures_of(assess_system(worlds.at(0, row)), outputs, at_a);
        sums.add_row(at_a, at_b);
        for (std::size_t input = 0; input < worlds.inputs(); ++input) {
            figures_of(assess_system(worlds.mixed(input, row)), outputs, at_ab);
            sums.add_mixed(input, at_a, at_b, at_ab);
        }
    }
    for (std::size_t o = 0; o < outputs.size(); ++o) {
        PartSpread& part =
            outputs[o].part < out.tanks.size() ? out.tanks[outputs[o].part] : *out.loop;
        const auto check =
            std::find_if(part.checks.begin(), part.checks.end(),
                         [&](const CheckSpread& each) { return each.check == outputs[o].check; });
        if (!check->first_order.empty()) continue;  // it has shares
        // A share that runs away where the supply nears nothing tells of no input.
        constexpr double kMostError = 0.15;
        std::vector<InputShare> shares;
        bool told_well = true;
        for (std::size_t input = 0; input < worlds.inputs(); ++input) {
            const auto index = sums.of(input, o);
            if (!index) continue;
            told_well = told_well && index->standard_error <= kMostError;
            shares.push_back(
                {std::string(worlds.name(input)), index->index, index->standard_error});
        }
        if (told_well) check->first_order = std::move(shares);
        std::stable_sort(
            check->first_order.begin(), check->first_order.end(),
            [](const InputShare& a, const InputShare& b) { return a.index > b.index; });
    }
    return out;
}

std::optional<double> sure_capacity(const System& system, std::optional<std::size_t> tank,
                                    Level level, double sure_percent,
                                    const SpreadQuestion& question) {
    const auto count_of = [&](const System& world) -> std::optional<double> {
        const TankCapacity capacity =
            tank ? capacity_of(world, *tank, level, Detail::total) : capacity_of_all(world, level);
        if (!capacity.stock) return std::nullopt;
        return capacity.wrong_temperature ? 0 : capacity.stock->count;
    };
    const std::optional<double> described = count_of(system);
    if (!described) return std::nullopt;
    Worlds worlds(system, question);
    std::vector<double> counts;
    for (std::size_t row = 0; row < question.draws; ++row) {
        counts.push_back(count_of(worlds.at(0, row)).value_or(0));
    }
    std::sort(counts.begin(), counts.end());
    // So many worlds may carry less.
    const auto may_fail = static_cast<std::size_t>(
        std::floor((100 - sure_percent) / 100 * static_cast<double>(counts.size())));
    return std::min(*described, counts[std::min(may_fail, counts.size() - 1)]);
}

std::span<const Constant> spread_sources() noexcept {
    static const auto kSources = [] {
        std::array<Constant, kAccuracies.size() + 1> all{};
        for (std::size_t i = 0; i < kAccuracies.size(); ++i) all[i] = kAccuracies[i].error;
        all.back() = kGivenError;
        return all;
    }();
    return kSources;
}

}  // namespace coldtank
