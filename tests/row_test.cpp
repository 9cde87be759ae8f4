// Tanks one below the other.
#include <algorithm>
#include <cmath>
#include <map>

#include "check.hpp"
#include "coldtank/capacity.hpp"
#include "coldtank/loop.hpp"
#include "coldtank/outage.hpp"
#include "coldtank/plan.hpp"
#include "coldtank/validate.hpp"
#include "read/description.hpp"

using namespace coldtank;
using namespace coldtank::test;

namespace {

Inflow spring(double flow_l_min, double oxygen_percent = 95) {
    Inflow inflow;
    inflow.flow_l_min = flow_l_min;
    inflow.oxygen_percent = oxygen_percent;
    inflow.tan_mg_l = 0;
    inflow.carbon_dioxide_mg_l = 5;
    inflow.keeps_flowing = true;
    return inflow;
}

Inflow out_of(const std::string& tank, double flow_l_min, bool keeps_flowing = true) {
    Inflow inflow;
    inflow.from = tank;
    inflow.flow_l_min = flow_l_min;
    inflow.keeps_flowing = keeps_flowing;
    return inflow;
}

Tank raceway(const std::string& name, double count, std::vector<Inflow> inflow) {
    Tank tank{};
    tank.name = name;
    tank.volume_l = 9000;
    tank.water.temperature_c = 11;
    tank.water.peak_temperature_c = 13;
    tank.water.ph = 7.2;
    tank.inflow = std::move(inflow);
    tank.fish = {fish("rainbow trout", count, 250)};
    tank.feed.ration_percent_day = 1;
    return tank;
}

System three_raceways() {
    return {kSeaLevelKpa,
            {raceway("upper", 200, {spring(200)}), raceway("middle", 200, {out_of("upper", 200)}),
             raceway("lower", 200, {out_of("middle", 200)})},
            std::nullopt};
}

// Rows as growers might build them: each tank below one or two others, some with a spring of its
// own; what is left of a tank's water runs off.
System random_row(RandomTanks& random) {
    System row{random.pressure_kpa(), {}, std::nullopt};
    const auto count = static_cast<std::size_t>(random.between(2, 5.99));
    std::vector<double> left_l_min;
    for (std::size_t i = 0; i < count; ++i) {
        Tank tank = random.next();
        tank.name = "t" + std::to_string(i);
        tank.inflow.clear();
        for (std::size_t up = i; up-- > 0 && tank.inflow.size() < 2;) {
            if (tank.inflow.size() == 1 && !random.chance(0.2)) break;
            const double flow_l_min =
                random.chance(0.6) ? left_l_min[up] : left_l_min[up] * random.between(0.1, 0.9);
            if (flow_l_min < 0.01 * tank.volume_l / 60) continue;
            left_l_min[up] -= flow_l_min;
            tank.inflow.push_back(out_of(row.tanks[up].name, flow_l_min, random.chance(0.7)));
        }
        if (tank.inflow.empty() || random.chance(0.2)) {
            Inflow own =
                spring(tank.volume_l / 60 * random.between(0.2, 3), random.between(60, 110));
            own.tan_mg_l = random.between(0, 0.2);
            if (random.chance(0.7)) own.carbon_dioxide_mg_l = random.between(1, 15);
            own.keeps_flowing = random.chance(0.7);
            tank.inflow.push_back(own);
        } else if (random.chance(0.6)) {
            tank.water.from_above = Water::FromAbove::all;
        }
        left_l_min.push_back(flow_l_min_of(tank));
        row.tanks.push_back(tank);
    }
    take_water_from_above(row.tanks);
    return row;
}

Description described(const System& row) {
    Description description{};
    description.site.name = "site";
    description.site.barometric_pressure_kpa = row.pressure_kpa;
    description.tanks = row.tanks;
    return description;
}

// Whether each tank of a row gets water that is there. A single remedy may leave parts of a fish.
bool flows_stand(const System& row) {
    const auto faults = validate(described(row));
    return std::none_of(faults.begin(), faults.end(), [](const DescriptionFault& fault) {
        // A plan that starts from a reading holds what that says of the inflow.
        return fault.pointer.find("inflow") != std::string::npos &&
               fault.message.find("is worked out") == std::string::npos;
    });
}

Status worst_of(const SystemBudget& budget) {
    Status worst = Status::pass;
    for (const TankBudget& tank : budget.tanks) worst = worse(worst, tank.verdict);
    return worst;
}

io::ReadResult read_tanks(const std::string& tanks) {
    return io::read_description(
        R"({"format":1,"site":{"name":"s","altitude_m":0},"tanks":[)" + tanks + "]}", "f.json");
}
std::string written(const std::string& name, const std::string& inflow,
                    const std::string& water = "") {
    return R"({"name":")" + name + R"(","volume_l":1000,"fish":[])" +
           (water.empty() ? "" : R"(,"water":)" + water) +
           (inflow.empty() ? "" : R"(,"inflow":)" + inflow) + "}";
}
const std::string kSpring = R"({"flow_l_min":100,"oxygen_percent":95})";
const std::string kWater = R"({"temperature_c":10,"peak_temperature_c":12})";

}  // namespace

TEST_SUITE("row") {
    TEST_CASE("identical tanks with re-aeration between them, by hand") {
        // What a tank takes lowers the oxygen by demand / flow; a fall closes a share of the gap to
        // saturation. The inflow of the n-th: Cs - g_n, g_1 given, g_(n+1) = left (g_n + d).
        constexpr std::size_t kTanks = 120;
        System row = three_raceways();
        const Aerator fall{"fall", {}, {}, Cascade{0.5}};
        row.tanks.clear();
        for (std::size_t i = 0; i < kTanks; ++i) {
            const std::string above = "t" + std::to_string(i);
            Tank tank = raceway("t" + std::to_string(i + 1), 150,
                                {i == 0 ? spring(300) : out_of(above, 300)});
            if (i > 0) tank.aeration = {fall};
            row.tanks.push_back(tank);
        }
        const SystemBudget whole = assess_system(row);
        const OxygenBudget& first = whole.tanks[0].oxygen;
        const double left = cascades_leave({&fall, 1}, 11, Coefficients()).of_oxygen_deficit;
        const double drop = first.demand_mean_g_h / (300 * 60 / 1000.0);
        double gap = first.saturation_mg_l * (1 - 0.95);
        for (const TankBudget& tank : whole.tanks) {
            check_close(tank.oxygen.inflow_mg_l.value(), tank.oxygen.saturation_mg_l - gap, 1e-12);
            gap = left * (gap + drop);
        }
        // It settles where a fall brings what a tank takes.
        check_close(gap, left * drop / (1 - left), 1e-9);
        CHECK(gap > 0.5);
    }

    TEST_CASE("Westers' serial reuse by hand: oxygen a use, ammonia that gathers") {
        // From memory: Westers, "Production" (1997, 2001). A kilogram of feed a day in Q L/min
        // takes 250 g of oxygen and makes 30 g of TAN: 250 / (1.44 Q) and 30 / (1.44 Q) mg/L.
        // 1.44 is m3/day of a litre a minute. After each use the water is brought back.
        System row = three_raceways();
        row.tanks.clear();
        for (int use = 1; use <= 6; ++use) {
            Tank tank = raceway(
                "use " + std::to_string(use), 400,
                {use == 1 ? spring(100, 100) : out_of("use " + std::to_string(use - 1), 100)});
            tank.water.peak_temperature_c = tank.water.temperature_c;
            tank.fish[0].respiration_factor = 0.1;  // by feed alone
            tank.feed = {.ration_g_day = 1000,
                         .protein_percent = 100 * 0.030 / 0.092,
                         .oxygen_per_feed_g_kg = 250,
                         .peak_factor = 1};
            if (use > 1) tank.aeration = {{"fall", {}, {}, Cascade{3, 1.8, 6}}};
            row.tanks.push_back(tank);
        }
        const SystemBudget whole = assess_system(row);
        double tan_mg_l = 0;
        std::optional<int> last_use;
        for (int use = 1; use <= 6; ++use) {
            const TankBudget& tank = whole.tanks[static_cast<std::size_t>(use - 1)];
            check_close(tank.oxygen.inflow_mg_l.value() - tank.oxygen.steady_mean_mg_l.value(),
                        1.7361, 5e-5);
            tan_mg_l += 0.20833;
            check_close(tank.ammonia.tan_mg_l.value(), tan_mg_l, 1e-4);
            const double nh3_mg_l =
                tan_mg_l * tank.ammonia.unionised_fraction.value() * 17.031 / 14.007;
            if (nh3_mg_l <= 0.0125) last_use = use;
            const Status status = find_check(tank, CheckId::ammonia)->status;
            CHECK((status == Status::pass) == (nh3_mg_l <= 0.0125));
        }
        // pH 7.2 at 11 degC: 0.32 % of it is NH3. So many uses the ammonia allows.
        CHECK(whole.tanks[0].ammonia.unionised_fraction.value() > 0.0030);
        CHECK(whole.tanks[0].ammonia.unionised_fraction.value() < 0.0035);
        CHECK(last_use == 6);
        for (Tank& tank : row.tanks) tank.water.ph = 7.8;  // four times as much
        const SystemBudget harder = assess_system(row);
        int passes = 0;
        for (const TankBudget& tank : harder.tanks) {
            passes += find_check(tank, CheckId::ammonia)->status == Status::pass ? 1 : 0;
        }
        // 0.0125 / (0.20833 x 0.0126 x 1.2159) = 3.9
        CHECK(passes == 3);
    }

    TEST_CASE("what goes into a row comes out of it") {
        RandomTanks random(161);
        double most = 0;
        for (int draw = 0; draw < 300; ++draw) {
            const System row = random_row(random);
            const SystemBudget whole = assess_system(row);
            for (const bool peak : {false, true}) {
                double sum = 0;
                double size = 0;
                const auto add = [&](double g_h) {
                    sum += g_h;
                    size += std::abs(g_h);
                };
                std::map<std::string, double> level;
                for (std::size_t i = 0; i < row.tanks.size(); ++i) {
                    const Tank& tank = row.tanks[i];
                    const TankBudget& budget = whole.tanks[i];
                    const OxygenBudget& oxygen = budget.oxygen;
                    const double saturation =
                        peak ? oxygen.saturation_peak_mg_l : oxygen.saturation_mg_l;
                    const double out =
                        peak ? *oxygen.lowest_in_balance_mg_l : *oxygen.steady_in_balance_mg_l;
                    level[tank.name] = out;
                    double given = 0;  // to tanks below
                    for (const Tank& below : row.tanks) {
                        for (const Inflow& inflow : below.inflow) {
                            if (inflow.from == tank.name) given += inflow.flow_l_min * 60 / 1000;
                        }
                    }
                    double came = 0;
                    for (const Inflow& inflow : tank.inflow) {
                        const double q = inflow.flow_l_min * 60 / 1000;
                        const double c = inflow.from.empty()
                                             ? *inflow.oxygen_percent / 100 * saturation
                                             : level.at(inflow.from);
                        came += q * c;
                        if (inflow.from.empty()) add(q * c);
                    }
                    // Falls, air, oxygen, fish; what runs off.
                    const double q = budget.flow_m3_h;
                    add(q * (peak ? oxygen.inflow_peak_in_balance_mg_l
                                  : oxygen.inflow_in_balance_mg_l) -
                        came);
                    for (std::size_t a = 0; a < tank.aeration.size(); ++a) {
                        const AeratorBudget& air = budget.aerators[a];
                        const double k = peak ? air.transfer_peak_m3_h : air.transfer_m3_h;
                        add(k * (tank.aeration[a].beta.value_or(tank.coefficients.beta) *
                                     saturation -
                                 out) +
                            air.pure_oxygen_g_h);
                    }
                    add(-(peak ? oxygen.demand_peak_g_h : oxygen.demand_mean_g_h));
                    add(-(q - given) * out);
                }
                most = std::max(most, std::abs(sum) / size);
            }
            double tan = 0;
            double size = 0;
            double co2 = 0;
            double co2_size = 0;
            for (std::size_t i = 0; i < row.tanks.size(); ++i) {
                const Tank& tank = row.tanks[i];
                const TankBudget& budget = whole.tanks[i];
                double left_m3_h = budget.flow_m3_h;
                double came = 0;
                for (const Tank& below : row.tanks) {
                    for (const Inflow& inflow : below.inflow) {
                        if (inflow.from == tank.name) left_m3_h -= inflow.flow_l_min * 60 / 1000;
                    }
                }
                for (const Inflow& inflow : tank.inflow) {
                    if (!inflow.from.empty()) {
                        for (std::size_t j = 0; j < i; ++j) {
                            if (row.tanks[j].name != inflow.from) continue;
                            came += inflow.flow_l_min * 60 / 1000 *
                                    *whole.tanks[j].carbon_dioxide.balance_mg_l;
                        }
                        continue;
                    }
                    const double q = inflow.flow_l_min * 60 / 1000;
                    tan += q * *inflow.tan_mg_l;
                    size += q * *inflow.tan_mg_l;
                    const double gas_mg_l =
                        inflow.carbon_dioxide_mg_l.value_or(budget.carbon_dioxide.in_air_mg_l);
                    came += q * gas_mg_l;
                    co2 += q * gas_mg_l;
                    co2_size += q * gas_mg_l;
                }
                tan += budget.ammonia.tan_production_g_day / 24;
                size += budget.ammonia.tan_production_g_day / 24;
                tan -= left_m3_h * *budget.ammonia.tan_mg_l;
                const CarbonDioxideBudget& gas = budget.carbon_dioxide;
                co2 += budget.flow_m3_h * *gas.inflow_mg_l - came + gas.production_peak_g_h -
                       gas.stripping_m3_h * (*gas.balance_mg_l - gas.in_air_mg_l) -
                       left_m3_h * *gas.balance_mg_l;
                co2_size += gas.production_peak_g_h;
            }
            most = std::max({most, std::abs(tan) / size, std::abs(co2) / co2_size});
        }
        CHECK(most < 1e-12);
    }

    TEST_CASE("waters are mixed by flow, by hand") {
        System row = three_raceways();
        row.tanks[1].inflow = {out_of("upper", 150), spring(50, 80)};
        row.tanks[1].inflow[1].tan_mg_l = 0.4;
        row.tanks[1].inflow[1].chlorine_mg_l = 0.008;
        row.tanks[2].inflow[0].flow_l_min = 200;
        const SystemBudget whole = assess_system(row);
        const TankBudget& upper = whole.tanks[0];
        const TankBudget& middle = whole.tanks[1];
        check_close(middle.oxygen.inflow_mg_l.value(),
                    0.75 * upper.oxygen.steady_mean_mg_l.value() +
                        0.25 * 0.8 * middle.oxygen.saturation_mg_l,
                    1e-12);
        check_close(middle.oxygen.inflow_peak_mg_l.value(),
                    0.75 * upper.oxygen.lowest_mg_l.value() +
                        0.25 * 0.8 * middle.oxygen.saturation_peak_mg_l,
                    1e-12);
        check_close(middle.ammonia.supply_tan_mg_l, 0.75 * upper.ammonia.tan_mg_l.value() + 0.1,
                    1e-12);
        check_close(middle.carbon_dioxide.inflow_mg_l.value(),
                    0.75 * upper.carbon_dioxide.balance_mg_l.value() + 0.25 * 5, 1e-12);
        // 0.008 in a quarter of the water: 0.002 below, and as much below that.
        check_close(find_check(middle, CheckId::chlorine)->value.value(), 0.002, 1e-12);
        check_close(find_check(whole.tanks[2], CheckId::chlorine)->value.value(), 0.002, 1e-12);
        CHECK(find_check(upper, CheckId::chlorine) == nullptr);
        // So do three litres and one.
        row.tanks[1].inflow[0].flow_l_min = 3;
        row.tanks[1].inflow[1].flow_l_min = 1;
        row.tanks[2].inflow[0].flow_l_min = 4;
        const TankBudget trickle = assess_system(row).tanks[1];
        check_close(trickle.oxygen.inflow_mg_l.value(), middle.oxygen.inflow_mg_l.value(), 1e-12);
        check_close(find_check(trickle, CheckId::chlorine)->value.value(), 0.002, 1e-12);
        row.tanks[1].inflow[0].flow_l_min = 150;
        row.tanks[1].inflow[1].flow_l_min = 50;
        row.tanks[2].inflow[0].flow_l_min = 200;
        // What one of them holds of carbon dioxide is not known: the mixture is the least there can
        // be, and judged by nobody.
        row.tanks[1].inflow[1].carbon_dioxide_mg_l.reset();
        const TankBudget least = assess_system(row).tanks[1];
        check_close(least.carbon_dioxide.inflow_mg_l.value(),
                    0.75 * upper.carbon_dioxide.balance_mg_l.value() +
                        0.25 * least.carbon_dioxide.in_air_mg_l,
                    1e-12);
        CHECK_FALSE(least.carbon_dioxide.balance_judged);
        CHECK_FALSE(assess_system(row).tanks[2].carbon_dioxide.balance_judged);
    }

    TEST_CASE("a reading in the upper tank reaches the lower, where it is the worse") {
        const System plain = three_raceways();
        const SystemBudget before = assess_system(plain);
        System row = plain;
        row.tanks[0].readings.oxygen_mg_l = 5.5;
        row.tanks[0].readings.tan_mg_l = 1.5;
        row.tanks[0].readings.carbon_dioxide_mg_l = 18;
        const SystemBudget read = assess_system(row);
        check_close(read.tanks[1].oxygen.inflow_mg_l.value(), 5.5, 1e-12);
        check_close(read.tanks[1].oxygen.inflow_peak_mg_l.value(), 5.5, 1e-12);
        check_close(read.tanks[1].ammonia.supply_tan_mg_l, 1.5, 1e-12);
        check_close(read.tanks[1].carbon_dioxide.inflow_mg_l.value(), 18, 1e-12);
        CHECK(read.tanks[2].oxygen.lowest_mg_l.value() <
              before.tanks[2].oxygen.lowest_mg_l.value());
        // Better than predicted changes nothing.
        row.tanks[0].readings = {};
        row.tanks[0].readings.oxygen_mg_l = 11;
        row.tanks[0].readings.tan_mg_l = 0.001;
        row.tanks[0].readings.carbon_dioxide_mg_l = 1;
        const SystemBudget good = assess_system(row);
        CHECK(good.tanks[1].oxygen.lowest_mg_l == before.tanks[1].oxygen.lowest_mg_l);
        CHECK(good.tanks[1].ammonia.tan_mg_l == before.tanks[1].ammonia.tan_mg_l);
        CHECK(good.tanks[1].carbon_dioxide.balance_mg_l ==
              before.tanks[1].carbon_dioxide.balance_mg_l);
        // Capacity and plans do not see it.
        row.tanks[0].readings.oxygen_mg_l = 5.5;
        for (std::size_t i = 0; i < row.tanks.size(); ++i) {
            CHECK(capacity_of(row, i, Level::warn).stock->count ==
                  capacity_of(plain, i, Level::warn).stock->count);
        }
        CHECK(worst_of(assess_system(without_todays_readings(row))) == worst_of(before));
    }

    TEST_CASE("tanks are put in order, whatever the order of the file; others stay alone") {
        const System row = three_raceways();
        Description description = described(row);
        description.tanks = {row.tanks[2], raceway("alone", 10, {spring(100)}), row.tanks[0],
                             row.tanks[1], raceway("beside", 10, {out_of("upper", 0)})};
        description.tanks[0].name = "lower";
        const std::vector<System> systems = systems_of(description);
        REQUIRE(systems.size() == 2);
        std::vector<std::string> names;
        for (const Tank& tank : systems[0].tanks) names.push_back(tank.name);
        for (const Tank& tank : systems[1].tanks) names.push_back(tank.name);
        // In the order of the tank that begins each.
        CHECK(names == std::vector<std::string>{"alone", "upper", "middle", "lower", "beside"});
        CHECK_FALSE(systems[0].is_row());
        CHECK(systems[1].is_row());
        const Assessment assessment = assess(description);
        const SystemBudget whole = assess_system(row);
        CHECK(assessment.tanks[0].oxygen.lowest_mg_l == whole.tanks[2].oxygen.lowest_mg_l);
        CHECK(assessment.tanks[2].oxygen.lowest_mg_l == whole.tanks[0].oxygen.lowest_mg_l);
        CHECK(below_of(systems[1].tanks, 0) == std::vector<std::size_t>{1, 2, 3});
        CHECK(below_of(systems[1].tanks, 2).empty());
        // Two springs that meet below are one row.
        Description y = described(row);
        y.tanks = {raceway("meet", 10, {out_of("right", 100), out_of("left", 50)}),
                   raceway("left", 10, {spring(50)}), raceway("right", 10, {spring(100)})};
        REQUIRE(systems_of(y).size() == 1);
        CHECK(systems_of(y)[0].tanks[2].name == "meet");
        RandomTanks random(162);
        for (int draw = 0; draw < 100; ++draw) {
            const System any = random_row(random);
            Description shuffled = described(any);
            std::reverse(shuffled.tanks.begin(), shuffled.tanks.end());
            const SystemBudget expected = assess_system(any);
            const Assessment got = assess(shuffled);
            for (std::size_t i = 0; i < any.tanks.size(); ++i) {
                const TankBudget& tank = got.tanks[any.tanks.size() - 1 - i];
                CHECK(tank.oxygen.lowest_mg_l == expected.tanks[i].oxygen.lowest_mg_l);
                CHECK(tank.ammonia.tan_mg_l == expected.tanks[i].ammonia.tan_mg_l);
                CHECK(tank.verdict == expected.tanks[i].verdict);
            }
        }
    }

    TEST_CASE("water comes down as warm as it is above, mixed by flow") {
        System row = three_raceways();
        row.tanks[0].water.temperature_c = 9;
        row.tanks[0].water.peak_temperature_c = 12;
        row.tanks[1].water.from_above = row.tanks[2].water.from_above = Water::FromAbove::all;
        take_water_from_above(row.tanks);
        CHECK(row.tanks[2].water.temperature_c == 9);
        CHECK(row.tanks[2].water.peak_temperature_c == 12.0);
        row.tanks.push_back(raceway("side", 10, {spring(100)}));
        row.tanks[3].water.temperature_c = 12;
        row.tanks[3].water.peak_temperature_c.reset();
        row.tanks[2].inflow = {out_of("middle", 200), out_of("side", 100)};
        std::swap(row.tanks[2], row.tanks[3]);
        take_water_from_above(row.tanks);
        check_close(row.tanks[3].water.temperature_c, 10, 1e-12);
        check_close(row.tanks[3].water.peak_temperature_c.value(), 12, 1e-12);
        // Cooled at the top, the tanks below are cooled with it, and eat what they ate.
        row = three_raceways();
        row.tanks[1].water.from_above = Water::FromAbove::all;
        for (Tank& tank : row.tanks) tank.feed = {};
        const SystemBudget before = assess_system(row);
        const System cooled = with_remedy(row, before, {0}, {Action::cool, 9, "degC", {}, {}});
        CHECK(cooled.tanks[0].water.temperature_c == 9);
        CHECK(cooled.tanks[1].water.temperature_c == 9);
        CHECK(cooled.tanks[1].water.peak_temperature_c == 11.0);
        CHECK(cooled.tanks[2].water.temperature_c == 11);  // its own
        check_close(assess_system(cooled).tanks[1].ration_g_day, before.tanks[1].ration_g_day,
                    1e-12);
    }

    TEST_CASE("more water for a tank comes from the top, and no tank gives what it has not") {
        System row = three_raceways();
        const SystemBudget before = assess_system(row);
        System more = with_remedy(row, before, {2}, {Action::raise_flow, 300, "L/min", {}, {}});
        for (const Tank& tank : more.tanks) check_close(flow_l_min_of(tank), 300, 1e-12);
        // From two springs in their proportion.
        System springs = row;
        springs.tanks[0].inflow = {spring(150), spring(50)};
        more = with_remedy(springs, assess_system(springs), {2},
                           {Action::raise_flow, 300, "L/min", {}, {}});
        check_close(more.tanks[0].inflow[0].flow_l_min, 225, 1e-12);
        check_close(more.tanks[0].inflow[1].flow_l_min, 75, 1e-12);
        // What runs off is used first.
        row.tanks[1].inflow[0].flow_l_min = row.tanks[2].inflow[0].flow_l_min = 120;
        more =
            with_remedy(row, assess_system(row), {2}, {Action::raise_flow, 180, "L/min", {}, {}});
        check_close(flow_l_min_of(more.tanks[0]), 200, 1e-12);
        check_close(flow_l_min_of(more.tanks[1]), 180, 1e-12);
        RandomTanks random(163);
        int remedies = 0;
        int flows = 0;
        for (int draw = 0; draw < random_cases(60); ++draw) {
            const System any = random_row(random);
            const SystemBudget budget = assess_system(any);
            Planner planner(any, budget);
            for (std::size_t tank = 0; tank < any.tanks.size(); ++tank) {
                for (const Check& check : budget.tanks[tank].checks) {
                    const Plan plan = planner.plan({tank}, check.id);
                    for (const Remedy& remedy : plan.remedies) {
                        if (!remedy.value && remedy.action != Action::two_changes) continue;
                        const System after =
                            with_remedy(plan.on->system, plan.on->budget, {tank}, remedy);
                        const SystemBudget then = assess_system(after);
                        ++remedies;
                        flows += remedy.action == Action::raise_flow ? 1 : 0;
                        const Check* mended = find_check(then.tanks[tank], check.id);
                        CHECK((mended == nullptr || mended->status == Status::pass));
                        for (std::size_t i = 0; i < any.tanks.size(); ++i) {
                            for (const Check& each : then.tanks[i].checks) {
                                const Check* was = find_check(plan.on->budget.tanks[i], each.id);
                                if (each.id == CheckId::input_doubt) continue;
                                CHECK(each.status <= (was == nullptr ? Status::pass : was->status));
                            }
                        }
                        CHECK(flows_stand(after));
                    }
                }
            }
        }
        CHECK(remedies > random_cases(100));
        CHECK(flows > random_cases(5));
    }

    TEST_CASE("a way is carried out tank by tank as it is printed, and keeps its promise") {
        RandomTanks random(164);
        int ways = 0;
        int flows = 0;
        for (int draw = 0; draw < 60; ++draw) {
            const System any = random_row(random);
            const SystemBudget budget = assess_system(any);
            for (const WayPlan& way : plan_ways(any, budget).ways) {
                System after = with_changes(any, budget, way.changes);
                CHECK(flows_stand(after));
                // Flows as they are printed, each typed into its tank.
                System typed = after;
                for (Tank& tank : typed.tanks) {
                    const auto at =
                        std::find_if(any.tanks.begin(), any.tanks.end(),
                                     [&](const Tank& t) { return t.name == tank.name; });
                    const auto index = static_cast<std::size_t>(at - any.tanks.begin());
                    for (const Change& change : way.changes) {
                        if (change.part.tank != index) continue;
                        if (change.remedy.action != Action::raise_flow) continue;
                        ++flows;
                        const double present = flow_l_min_of(any.tanks[index]);
                        tank.inflow = any.tanks[index].inflow;
                        for (Inflow& inflow : tank.inflow) {
                            inflow.flow_l_min *= *change.remedy.value / present;
                        }
                    }
                    check_close(flow_l_min_of(tank), flow_l_min_of(after.tanks[index]),
                                1e-9 * flow_l_min_of(tank));
                }
                const SystemBudget then = assess_system(typed);
                const SystemBudget planned = assess_system(without_todays_readings(typed));
                ++ways;
                for (std::size_t i = 0; i < any.tanks.size(); ++i) {
                    CHECK(worse(then.tanks[i].verdict, planned.tanks[i].verdict) ==
                          way.outcomes[i].verdict);
                }
            }
        }
        CHECK(ways > 60);
        CHECK(flows > 10);
    }

    TEST_CASE("too much oxygen above is too much below, whatever a meter read low") {
        System row = three_raceways();
        row.tanks[0].aeration = {{"oxygen", {}, {}, PureOxygen{6, 90}}};
        const auto resting = [&](std::size_t tank) {
            return assess_system(row).tanks[tank].oxygen.resting_percent.value();
        };
        const double before = resting(2);
        CHECK(before > 120);
        CHECK(find_check(assess_system(row).tanks[2], CheckId::oxygen_excess)->status ==
              Status::fail);
        // All at rest: what the fish of the tanks above leave is in it.
        const SystemBudget budget = assess_system(row);
        const OxygenBudget& top = budget.tanks[0].oxygen;
        const double rest_g_h = 0.7 * budget.tanks[1].oxygen.demand_mean_g_h;
        check_close(resting(1),
                    100 * (*top.resting_in_balance_mg_l - rest_g_h / 12) / top.saturation_mg_l,
                    1e-9);
        row.tanks[0].readings.oxygen_mg_l = 7;
        CHECK(resting(2) == before);
    }

    TEST_CASE("what cannot be judged below may warn when there are more above") {
        System row = three_raceways();
        row.tanks[0].inflow[0].carbon_dioxide_mg_l.reset();
        row.tanks[0].inflow[0].flow_l_min = row.tanks[1].inflow[0].flow_l_min =
            row.tanks[2].inflow[0].flow_l_min = 60;
        for (Tank& tank : row.tanks) tank.aeration = {{"oxygen", {}, {}, PureOxygen{20, 90}}};
        const TankCapacity capacity = capacity_of(row, 0, Level::warn);
        System stocked = row;
        stocked.tanks[0] = stocked_with(row.tanks[0], capacity.stock->count);
        const SystemBudget kept = assess_system(without_todays_readings(stocked));
        for (const TankBudget& tank : kept.tanks) {
            CHECK(find_check(tank, CheckId::carbon_dioxide)->status < Status::warn);
        }
        CHECK(capacity.limited_by == CheckId::carbon_dioxide);
        CHECK(capacity.limited_in == "lower");
    }

    TEST_CASE("two tanks of one name, which nobody validated, keep their own figures") {
        Description twice = described(three_raceways());
        twice.tanks = {raceway("same", 5000, {spring(200)}), raceway("same", 5, {spring(200)})};
        const Assessment assessment = assess(twice);
        CHECK(assessment.tanks[0].verdict == Status::fail);
        CHECK(assessment.tanks[0].fish_count == 5000);
        CHECK(assessment.tanks[1].fish_count == 5);
    }

    TEST_CASE("a capacity is what the tank and all below it bear") {
        const auto passes = [](const System& row, std::size_t tank, double count) {
            System stocked = without_todays_readings(row);
            stocked.tanks[tank] = stocked_with(row.tanks[tank], count);
            const SystemBudget budget = assess_system(stocked);
            std::vector<std::size_t> asked = below_of(row.tanks, tank);
            asked.push_back(tank);
            return std::all_of(asked.begin(), asked.end(), [&](std::size_t i) {
                const auto& checks = budget.tanks[i].checks;
                return std::all_of(checks.begin(), checks.end(), [&](const Check& check) {
                    if (info_of(check.id).decides != Decides::stock) return true;
                    if (i == tank) return check.status < Status::warn;
                    return check.id == CheckId::density || check.status < Status::warn;
                });
            });
        };
        RandomTanks random(165);
        int limited_below = 0;
        for (int draw = 0; draw < random_cases(80); ++draw) {
            const System row = random_row(random);
            for (std::size_t tank = 0; tank < row.tanks.size(); ++tank) {
                const TankCapacity capacity = capacity_of(row, tank, Level::warn);
                if (!capacity.stock) continue;
                const double count = capacity.stock->count;
                if (count > 0) CHECK(passes(row, tank, count));
                CHECK_FALSE(passes(row, tank, count + 1));
                if (!capacity.limited_in.empty()) {
                    ++limited_below;
                    CHECK(capacity.limited_in != row.tanks[tank].name);
                }
                const FitPlan fit = plan_fit(row, tank, std::max(1.0, count));
                if (count > 0 && !capacity.wrong_temperature) CHECK(fit.verdict < Status::warn);
                if (count > 0) CHECK(fit.too_many_for.empty());
                const FitPlan more = plan_fit(row, tank, count + 1);
                CHECK(more.verdict >= Status::warn);
            }
            const TankCapacity all = capacity_of_all(row, Level::warn);
            CHECK(all.tank.find("t0, t1") == 0);
            double present = 0;
            for (const Tank& tank : row.tanks) {
                for (const FishGroup& group : tank.fish) present += group.count;
            }
            const auto all_pass = [&](double count) {
                System stocked = without_todays_readings(row);
                for (Tank& tank : stocked.tanks) scale_fish(tank, count / present);
                const SystemBudget budget = assess_system(stocked);
                return std::all_of(budget.tanks.begin(), budget.tanks.end(), [](const auto& tank) {
                    return std::all_of(tank.checks.begin(), tank.checks.end(),
                                       [](const Check& check) {
                                           return info_of(check.id).decides != Decides::stock ||
                                                  check.status < Status::warn;
                                       });
                });
            };
            if (all.stock) {
                if (all.stock->count > 0) CHECK(all_pass(all.stock->count));
                CHECK_FALSE(all_pass(all.stock->count + 1));
            }
        }
        CHECK(limited_below > random_cases(20));
    }

    TEST_CASE(
        "without power a tank below is on water that becomes poorer: never later than it is") {
        // Both tanks together, by small steps (classical Runge-Kutta).
        const auto minutes_down_to = [](const TankBudget& upper, const TankBudget& lower, double q,
                                        double spring_mg_l, double upper_now, double lower_now,
                                        double level_mg_l) {
            const double hours = 1.0 / 3600;
            const auto slope_upper = [&](double c) {
                return (q * (spring_mg_l - c) - (c > 0 ? upper.reserve->demand_g_h : 0)) /
                       upper.water_m3;
            };
            const auto slope_lower = [&](double in, double c) {
                return (q * (in - c) - (c > 0 ? lower.reserve->demand_g_h : 0)) / lower.water_m3;
            };
            double a = upper_now;
            double b = lower_now;
            for (int i = 0; i < 3600 * 24; ++i) {
                if (b <= level_mg_l) return i / 60.0;
                const double a1 = slope_upper(a);
                const double b1 = slope_lower(a, b);
                const double a2 = slope_upper(a + hours / 2 * a1);
                const double b2 = slope_lower(a + hours / 2 * a1, b + hours / 2 * b1);
                const double a3 = slope_upper(a + hours / 2 * a2);
                const double b3 = slope_lower(a + hours / 2 * a2, b + hours / 2 * b2);
                const double a4 = slope_upper(a + hours * a3);
                const double b4 = slope_lower(a + hours * a3, b + hours * b3);
                a = std::max(0.0, a + hours / 6 * (a1 + 2 * a2 + 2 * a3 + a4));
                b = std::max(0.0, b + hours / 6 * (b1 + 2 * b2 + 2 * b3 + b4));
            }
            return HUGE_VAL;
        };
        RandomTanks random(166);
        int fell = 0;
        for (int draw = 0; draw < 60; ++draw) {
            System row = three_raceways();
            row.tanks.pop_back();
            row.tanks[0].fish[0].count = std::floor(random.between(100, 700));
            row.tanks[1].fish[0].count = std::floor(random.between(100, 700));
            row.tanks[1].volume_l = random.between(3000, 20000);
            for (Tank& tank : row.tanks) {
                tank.aeration = {diffuser(random.between(50, 400), 1)};
                tank.readings.oxygen_mg_l = random.between(6.5, 9);
                tank.readings.oxygen_age_h = 0;
            }
            const SystemBudget budget = assess_system(row);
            const std::vector<TankOutage> outages = assess_outage({&row, 1}, {}, 0);
            const TankOutage& lower = outages.at(1);
            const OutageCourse& on_water = lower.course(OutageCase::water_goes_on);
            const double spring_mg_l = budget.tanks[0].oxygen.inflow_peak_mg_l.value();
            for (const auto& [level, minutes] :
                 {std::pair{lower.limits.reserve_stress_mg_l, on_water.left.minutes_to_stress},
                  std::pair{lower.limits.reserve_danger_mg_l, on_water.left.minutes_to_danger}}) {
                const double truth = minutes_down_to(
                    budget.tanks[0], budget.tanks[1], 12, spring_mg_l,
                    *row.tanks[0].readings.oxygen_mg_l, *row.tanks[1].readings.oxygen_mg_l, level);
                CHECK(minutes.value_or(HUGE_VAL) <= truth + 0.02);
                fell += std::isfinite(truth) ? 1 : 0;
            }
            // In the budget of the day as well.
            const auto& reserve = *budget.tanks[1].reserve;
            const double truth =
                minutes_down_to(budget.tanks[0], budget.tanks[1], 12, spring_mg_l,
                                budget.tanks[0].reserve->start_mg_l, reserve.start_mg_l,
                                lower.limits.reserve_danger_mg_l);
            CHECK(reserve.flow_continues->minutes_to_danger.value_or(HUGE_VAL) <= truth + 0.02);
        }
        CHECK(fell > 20);
    }

    TEST_CASE("a tank below is without water where the one above is") {
        System row = three_raceways();
        const auto judged = [&](std::size_t tank) {
            return assess_outage({&row, 1}, {}, std::nullopt).at(tank).judged;
        };
        CHECK(judged(2) == OutageCase::water_goes_on);
        row.tanks[0].inflow[0].keeps_flowing = false;  // pumped
        CHECK(judged(0) == OutageCase::all_stops);
        CHECK(judged(1) == OutageCase::all_stops);
        CHECK(judged(2) == OutageCase::all_stops);
        CHECK_FALSE(assess_system(row).tanks[2].reserve->kept_flow_continues.has_value());
        row.tanks[0].inflow[0].keeps_flowing = true;
        row.tanks[1].inflow[0].keeps_flowing = false;  // pumped up to the second
        CHECK(judged(0) == OutageCase::water_goes_on);
        CHECK(judged(1) == OutageCase::all_stops);
        CHECK(judged(2) == OutageCase::all_stops);
        row.tanks[1].inflow[0].keeps_flowing = true;
        // Half of the spring is pumped: half of all that it gives is lost.
        row.tanks[0].inflow = {spring(100), spring(100)};
        row.tanks[0].inflow[1].keeps_flowing = false;
        const SystemBudget half = assess_system(row);
        const ReserveBudget& reserve = *half.tanks[2].reserve;
        REQUIRE(reserve.kept_flow_continues.has_value());
        const double kept = reserve.kept_flow_continues->minutes_to_danger.value_or(HUGE_VAL);
        CHECK(kept >= reserve.stopped.minutes_to_danger.value());
        CHECK(kept <= reserve.flow_continues->minutes_to_danger.value_or(HUGE_VAL));
        // A screen that is blocked above leaves those below dry.
        row = three_raceways();
        row.tanks[0].readings.oxygen_mg_l = 4;
        row.tanks[0].readings.oxygen_age_h = 0;
        CHECK(judged(0) == OutageCase::all_stops);
        CHECK(judged(1) == OutageCase::all_stops);
        // However little water it is.
        for (Tank& tank : row.tanks) {
            tank.inflow[0].flow_l_min = 4;
            tank.fish[0].count = 4;
        }
        CHECK(judged(1) == OutageCase::all_stops);
        row.tanks[0].readings = {};
        CHECK(judged(0) == OutageCase::water_goes_on);
        CHECK(judged(1) == OutageCase::water_goes_on);
    }

    TEST_CASE("what is read low above is never better below") {
        // Nobody counts on water that reads low to stop, nor to mend: the worse of the two.
        System row = three_raceways();
        row.tanks.pop_back();
        const auto outage = [&] { return assess_outage({&row, 1}, {}, std::nullopt); };
        const auto danger = [](const TankOutage& tank, OutageCase which) {
            return tank.course(which).left.minutes_to_danger.value_or(HUGE_VAL);
        };
        RandomTanks random(167);
        for (int draw = 0; draw < 200; ++draw) {
            row = three_raceways();
            row.tanks.pop_back();
            if (random.chance(0.3)) row.tanks[0].fish.clear();
            if (random.chance(0.5)) {
                row.tanks[1].inflow[0].flow_l_min = 160;
                row.tanks[1].inflow.push_back(spring(40));
            }
            const double read = random.between(0.5, 10);
            row.tanks[0].readings.oxygen_mg_l = read;
            row.tanks[0].readings.oxygen_age_h = random.between(0, 0.99);
            if (random.chance(0.5)) {
                row.tanks[1].readings.oxygen_mg_l = random.between(6.5, 9);
                row.tanks[1].readings.oxygen_age_h = 0.05;
            }
            const std::vector<TankOutage> outages = outage();
            const TankOutage& lower = outages.back();
            const bool low = read < assess_system(row).tanks[0].oxygen.warn_mg_l;
            if (row.tanks[1].inflow.size() == 1) CHECK(lower.water_mg_l <= read + 1e-12);
            if (!low) continue;
            CHECK(danger(lower, lower.judged) <=
                  std::min(danger(lower, OutageCase::all_stops),
                           danger(lower, OutageCase::water_goes_on)));
        }
        // A spring of one tank alone that is as poor.
        System alone_on_it = three_raceways();
        alone_on_it.tanks.resize(1);
        alone_on_it.tanks[0].inflow[0].oxygen_percent = 20;
        alone_on_it.tanks[0].readings.oxygen_mg_l = 5.9;
        alone_on_it.tanks[0].readings.oxygen_age_h = 0.1;
        const TankOutage poor = assess_outage({&alone_on_it, 1}, {}, std::nullopt).at(0);
        CHECK(poor.judged == OutageCase::water_goes_on);
        CHECK(danger(poor, poor.judged) < danger(poor, OutageCase::all_stops));
    }

    TEST_CASE("a description of a row is read in any order; names but for capitals") {
        const io::ReadResult result =
            read_tanks(written("low", R"({"from":"Mid  Tank","flow_l_min":60})") + ',' +
                       written("top", kSpring, kWater) + ',' +
                       written("mid tank",
                               R"([{"from":"top","flow_l_min":100,"keeps_flowing":true},)"
                               R"({"flow_l_min":20,"oxygen_mg_l":9}])",
                               R"({"temperature_c":10.5})"));
        REQUIRE_MESSAGE(result.errors.empty(), result.errors[0].message);
        const std::vector<Tank>& tanks = result.description->tanks;
        REQUIRE(tanks.size() == 3);
        CHECK(tanks[0].inflow[0].from == "mid tank");
        CHECK(tanks[0].water.temperature_c == 10.5);
        CHECK(tanks[0].water.from_above == Water::FromAbove::all);
        CHECK(tanks[2].inflow.size() == 2);
        const io::ReadResult salty = read_tanks(
            written("top", kSpring, R"({"temperature_c":10,"salinity_g_kg":12})") + ',' +
            written("low", R"([{"from":"top","flow_l_min":60},)"
                           R"({"flow_l_min":30,"oxygen_percent":95,"temperature_c":10}])"));
        REQUIRE(salty.errors.empty());
        check_close(salty.description->tanks[1].water.salinity_g_kg, 8, 1e-12);
        CHECK(tanks[2].inflow[0].keeps_flowing);
        CHECK(tanks[2].water.from_above == Water::FromAbove::peak);
        CHECK(validate(*result.description).empty());
    }

    TEST_CASE("what cannot be is refused, with both places") {
        struct Case {
            std::string tanks;
            std::string pointer;
            std::string says;
            std::size_t left;  // tanks that are worked out all the same
        };
        const std::string top = written("top", kSpring, kWater) + ',';
        const auto below = [](const std::string& name, const std::string& from, double flow) {
            return written(
                name, R"({"from":")" + from + R"(","flow_l_min":)" + std::to_string(flow) + "}");
        };
        for (const Case& each : {
                 Case{top + below("low", "tip", 50), "/tanks/1/inflow/from", "did you mean top?",
                      1},
                 Case{top + below("low", "quarry", 50), "/tanks/1/inflow/from",
                      "no tank is named \"quarry\"", 1},
                 Case{top + below("low", "low", 50), "/tanks/1/inflow/from", "this tank itself", 1},
                 Case{top + below("low", "top", 150), "/tanks/1/inflow/flow_l_min",
                      "\"top\" receives 100 L/min and gives 150 (150 to \"low\")", 1},
                 Case{top + below("low", "top", 60) + ',' + below("side", "top", 60),
                      "/tanks/2/inflow/flow_l_min", "gives 120 (60 to \"low\", 60 to \"side\")", 1},
                 Case{top + written("low", R"([{"from":"top","flow_l_min":20},)"
                                           R"({"from":"top","flow_l_min":30}])"),
                      "/tanks/1/inflow/1/from", "stands twice", 1},
                 Case{top + written("low", R"({"from":"top","flow_l_min":20,"oxygen_mg_l":8})"),
                      "/tanks/1/inflow/oxygen_mg_l", "is worked out", 1},
                 Case{top + written("low", R"({"from":"top","flow_l_min":20})",
                                    R"({"peak_temperature_c":14})"),
                      "/tanks/1/water/peak_temperature_c", "give temperature_c too", 1},
                 Case{top + written("low", R"([{"from":"top","flow_l_min":20},)"
                                           R"({"flow_l_min":30,"oxygen_mg_l":9}])"),
                      "/tanks/1", "temperature_c is missing: of the new water in inflow", 1},
                 Case{top + written("low", "[]", kWater), "/tanks/1/inflow", "one object or more",
                      1},
                 Case{written("a", R"({"from":"c","flow_l_min":9})") + ',' +
                          written("b", R"({"from":"a","flow_l_min":9})") + ',' +
                          written("c", R"({"from":"b","flow_l_min":9})"),
                      "/tanks/1/inflow/from", "a circle", 0},
             }) {
            const io::ReadResult result = read_tanks(each.tanks);
            REQUIRE_MESSAGE(result.errors.size() == 1, each.tanks);
            CHECK(result.errors[0].pointer == each.pointer);
            CHECK_MESSAGE(result.errors[0].message.find(each.says) != std::string::npos,
                          result.errors[0].message);
            CHECK(result.description->tanks.size() == each.left);
        }
        // Two places: the other one stands with it.
        const std::string circle = read_tanks(written("a", R"({"from":"b","flow_l_min":9})") + ',' +
                                              written("b", R"({"from":"a","flow_l_min":9})"))
                                       .errors.at(0)
                                       .message;
        CHECK_MESSAGE(circle.find("\"a\", \"b\", \"a\"") != std::string::npos, circle);
        CHECK_MESSAGE(circle.find("first at line 1") != std::string::npos, circle);
        // Below what has errors nothing is worked out, and it is said; what is above is.
        const io::ReadResult cut =
            read_tanks(top + written("mid", R"({"from":"top","flow_l_min":50,"x":1})") + ',' +
                       below("low", "mid", 50) + ',' + below("last", "low", 50));
        REQUIRE(cut.errors.size() == 3);
        CHECK(cut.errors[1].message.find("\"mid\", the tank above, has errors") !=
              std::string::npos);
        CHECK(cut.errors[2].message.find("\"low\", the tank above, has errors") !=
              std::string::npos);
        CHECK(cut.description->tanks.size() == 1);
        // On a loop all water goes back.
        const io::ReadResult looped = io::read_description(
            R"({"format":1,"site":{"name":"s","altitude_m":0},)"
            R"("loops":[{"name":"l","water":{"temperature_c":12}}],"tanks":[)"
            R"({"name":"a","volume_l":100,"fish":[],"loop":{"name":"l","flow_l_min":20}},)" +
                below("b", "a", 10) + "]}",
            "f.json");
        REQUIRE(looped.errors.size() == 1);
        CHECK(looped.errors[0].message.find("is on a loop") != std::string::npos);
    }

    TEST_CASE("the core refuses what the reader refuses") {
        const Description good = described(three_raceways());
        CHECK(validate(good).empty());
        Description bad = good;
        bad.tanks[1].inflow[0].from = "nobody";
        CHECK_FALSE(validate(bad).empty());
        bad = good;
        bad.tanks[0].inflow = {out_of("lower", 200)};
        CHECK_FALSE(validate(bad).empty());
        bad = good;
        bad.tanks[2].inflow[0].flow_l_min = 201;
        CHECK_FALSE(validate(bad).empty());
        bad = good;
        bad.tanks[2].inflow[0].tan_mg_l = 0.1;
        CHECK_FALSE(validate(bad).empty());
        bad = good;
        bad.tanks[0].water.from_above = Water::FromAbove::all;
        CHECK_FALSE(validate(bad).empty());
        // Water of a tank that is not there is no water that passes.
        const TankBudget lost = assessed(good.tanks[1]);
        CHECK(lost.verdict == Status::fail);
    }
}
