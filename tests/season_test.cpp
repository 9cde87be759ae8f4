#include "coldtank/season.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>

#include "check.hpp"

using namespace coldtank;
using namespace coldtank::test;

namespace {

Day day(int year, unsigned month, unsigned date) {
    return std::chrono::sys_days{std::chrono::year{year} / std::chrono::month{month} /
                                 std::chrono::day{date}}
        .time_since_epoch()
        .count();
}

SeasonInput spring_to_autumn() {
    SeasonInput season;
    season.start = day(2026, 4, 1);
    season.until = day(2026, 10, 31);
    season.monthly_mean_c = {4, 4, 5, 7, 9, 11, 13, 13, 11, 9, 6, 5};
    return season;
}

std::vector<double> temperatures_of(const SeasonInput& season) {
    return season_temperatures(season, season.start, last_day_of(season));
}

Tank grower(double count = 60, double weight_g = 60) {
    Tank tank = readme_tank();
    tank.feed = {};
    tank.fish = {fish("rainbow trout", count, weight_g)};
    return tank;
}

std::vector<TankSeason> season_of(const Tank& tank, const SeasonInput& season) {
    const System system = alone(tank, kSeaLevelKpa);
    return run_season(system, season, temperatures_of(season)).tanks;
}

// Of the first tank, with the others as they are.
SeasonStock plan_of(const System& system, const SeasonInput& season, Level level) {
    const std::size_t first[] = {0};
    return plan_season(system, first, season, temperatures_of(season), level)[0];
}

}  // namespace

TEST_SUITE("season") {
    TEST_CASE("thermal-unit growth, by hand") {
        // (50^(1/3) + 0.0015 x 12 x 100)^3 = (3.68403 + 1.8)^3
        check_close(grown_g({50, 12, 1.5e-3, 1}, 100), 164.9, 0.05);
        const double after = grown_g({20, 8, 1.5e-3, 1}, 60);
        check_close(grown_g({after, 14, 1.5e-3, 1}, 60), 103.45, 0.005);
        CHECK(std::isnan(grown_g({0, 12, 1.5e-3, 1}, 10)));
        CHECK(std::isnan(grown_g({50, 12, 1.5e-3, 1}, -1)));
    }

    TEST_CASE("monthly temperature units a centimetre, Dwyer et al. in Soderberg, pp. 4-5") {
        // MTU: the mean temperature of a month; a fish of W = k L^3 grows TGC t r / k^(1/3) a day.
        const auto units = [](const char* species, double tgc, double t) {
            const Species& s = find_species(species)->species;
            const double cm_month =
                30 * tgc * t * growth_response(t, s) / std::cbrt(double{s.condition_g_cm3});
            return t / cm_month;
        };
        check_close(units("brook", 1.284e-3, 4), 18.2, 0.05 * 18.2);
        check_close(units("brook", 1.284e-3, 10), 5.8, 0.05 * 5.8);
        check_close(units("rainbow", 1.262e-3, 13), 5.8, 0.05 * 5.8);
    }

    TEST_CASE("growth response: the published points, its places for others, nothing beyond") {
        const Species& brook = find_species("brook")->species;
        for (const auto& [t, r] :
             {std::pair{4.0, 0.31}, std::pair{10.0, 0.98}, std::pair{13.0, 1.0},
              std::pair{7.0, 0.66}, std::pair{16.0, 0.84}, std::pair{19.0, 0.63}}) {
            check_close(growth_response(t, brook), r, 1e-12);
        }
        const Species& rainbow = find_species("rainbow")->species;
        check_close(growth_response(11, rainbow), 0.98, 1e-12);  // a degree on
        CHECK(growth_response(rainbow.feeding_stop_c, rainbow) == 0);
        CHECK(growth_response(rainbow.feeding_stop_c + 3, rainbow) == 0);
        CHECK(growth_response(0, rainbow) == 0);
        CHECK(std::isnan(growth_response(-5, rainbow)));
        for (double t = 20; t < rainbow.feeding_stop_c; t += 0.1) {
            CHECK(growth_response(t, rainbow) < 0.63);
        }
        CHECK(tgc_of_species("golden trout")->expected == 1.5e-3);
        CHECK(tgc_of_species("rainbow")->fast == 2.0e-3);
        check_close(tgc_of_species("Arctic char")->slow, 1.1e-3, 1e-12);
        CHECK_FALSE(tgc_of_species("carp").has_value());
    }

    TEST_CASE("growth by weighings: exact ones are found again, the band holds noisy ones") {
        const Species& rainbow = find_species("rainbow")->species;
        RandomTanks random(183);
        int held = 0;
        constexpr int kLogs = 300;
        for (int draw = 0; draw < kLogs; ++draw) {
            const double tgc = random.between(0.8e-3, 2.5e-3);
            const double noise = draw < 20 ? 0 : 0.02;
            std::vector<TrendPoint> temperatures, exact, weighings;
            double weight_g = random.between(20, 100);
            for (int at = 0; at <= 120; ++at) {
                const double t = 9 + at / 40.0;  // a straight line from night to night
                temperatures.push_back({double(at), t});
                if (at % 20 == 0) {
                    const double off = noise * (random.between(-1, 1) + random.between(-1, 1));
                    weighings.push_back({double(at), weight_g * (1 + off)});
                }
                const auto rate = [&](double c) { return c * growth_response(c, rainbow); };
                const double root = std::cbrt(weight_g) + tgc * (rate(t) + rate(t + 1 / 40.0)) / 2;
                weight_g = root * root * root;
            }
            const auto fit = fit_growth(weighings, temperatures, rainbow);
            REQUIRE(fit.has_value());
            CHECK(fit->weighings == 7);
            if (noise == 0) check_close(fit->tgc.expected, tgc, 1e-9);
            held += fit->tgc.slow <= tgc && tgc <= fit->tgc.fast ? 1 : 0;
        }
        CHECK(held > 0.93 * kLogs);
        // Before the first temperature it is as warm, after the last one too: by hand of
        // 10 x 10 degree-days, a straight line to 12 in 20 days, and 30 days of 12.
        const TrendPoint late[] = {{10, 10}, {30, 12}};
        const auto rate = [&](double c) { return c * growth_response(c, rainbow); };
        const double to_30 = 10 * rate(10) + 20 * (rate(10) + rate(12)) / 2;
        const auto weight_at = [](double units) { return std::pow(4 + 1.5e-3 * units, 3); };
        const TrendPoint weighed[] = {
            {0, 64}, {30, weight_at(to_30)}, {60, weight_at(to_30 + 30 * rate(12))}};
        check_close(fit_growth(weighed, late, rainbow)->tgc.expected, 1.5e-3, 1e-12);
        const TrendPoint two[] = {{0, 50}, {30, 60}};
        const TrendPoint shrinking[] = {{0, 50}, {30, 45}, {60, 40}};
        const TrendPoint water[] = {{0, 10}};
        CHECK_FALSE(fit_growth(two, water, rainbow));
        CHECK_FALSE(fit_growth(shrinking, water, rainbow));
        CHECK_FALSE(fit_growth(shrinking, {}, rainbow));
    }

    TEST_CASE("each month keeps its mean; a wave and days as they are told") {
        RandomTanks random(180);
        for (int draw = 0; draw < 30; ++draw) {
            SeasonInput season = spring_to_autumn();
            for (double& mean : *season.monthly_mean_c) mean = random.between(2, 20);
            const Day first = day(2027, 11, 1);
            const Day last = day(2028, 12, 31);  // with a 29 February
            const auto t = season_temperatures(season, first, last);
            std::size_t at = 0;
            for (Day d = first; d <= last;) {
                const std::chrono::year_month_day date{std::chrono::sys_days{std::chrono::days{d}}};
                double sum = 0;
                int days = 0;
                for (; d <= last; ++d, ++days) {
                    const std::chrono::year_month_day now{
                        std::chrono::sys_days{std::chrono::days{d}}};
                    if (now.month() != date.month()) break;
                    sum += t[at++];
                }
                check_close(sum / days,
                            (*season.monthly_mean_c)[static_cast<unsigned>(date.month()) - 1],
                            1e-9);
            }
        }
        SeasonInput wave = spring_to_autumn();
        wave.monthly_mean_c.reset();
        wave.wave = SeasonInput::Wave{9, 6, 217};  // 5 August
        CHECK(season_temperatures(wave, day(2026, 8, 5), day(2026, 8, 5))[0] == 15);
        check_close(season_temperatures(wave, day(2026, 2, 4), day(2026, 2, 4))[0], 3, 0.01);
        // In a leap year it is the same date.
        check_close(season_temperatures(wave, day(2028, 8, 5), day(2028, 8, 5))[0], 15, 1e-12);
        SeasonInput daily = spring_to_autumn();
        daily.daily = {{day(2026, 4, 1), 6}, {day(2026, 4, 5), 8}, {day(2026, 4, 6), 7}};
        const auto t = season_temperatures(daily, day(2026, 4, 1), day(2026, 4, 6));
        CHECK(t == std::vector<double>{6, 6.5, 7, 7.5, 8, 7});
        CHECK(season_temperatures(daily, day(2026, 4, 1), day(2026, 4, 7)).empty());
        CHECK(warm_spell_c_of(daily) == 0);
        CHECK(warm_spell_c_of(wave) == 2);
    }

    TEST_CASE(
        "a budget a day, at the warmest that day may be, with the heaviest fish there may be") {
        SeasonInput season = spring_to_autumn();
        season.daily_swing_c = 1.5;
        const Tank tank = grower();
        const TankSeason out = season_of(tank, season)[0];
        REQUIRE(out.days.size() == 214);
        const auto t = temperatures_of(season);
        for (const std::size_t at : {std::size_t{40}, std::size_t{120}, std::size_t{200}}) {
            const SeasonDay& today = out.days[at];
            CHECK(today.temperature_c == t[at]);
            check_close(today.peak_temperature_c, t[at] + 2 + 1.5, 1e-12);
            Tank typed = tank;
            typed.water.temperature_c = t[at] + 2;
            typed.water.peak_temperature_c = t[at] + 3.5;
            typed.water.alkalinity_mg_l.reset();
            typed.fish[0].mean_weight_g = today.mean_weight_high_g;
            const TankBudget budget = assessed(typed);
            check_close(today.oxygen_lowest_mg_l.value(), budget.oxygen.lowest_mg_l.value(), 1e-12);
            check_close(today.biomass_high_kg, budget.biomass_kg, 1e-9);
            CHECK(today.verdict == budget.verdict);
            CHECK(today.mean_weight_low_g < today.mean_weight_g);
            CHECK(today.mean_weight_g < today.mean_weight_high_g);
        }
        // In its first month no day is cooler than what is described.
        Tank warm = tank;
        warm.water.peak_temperature_c = 16;
        const TankSeason first = season_of(warm, season)[0];
        CHECK(first.days[3].peak_temperature_c == 16);
        CHECK(first.days[40].peak_temperature_c == out.days[40].peak_temperature_c);
    }

    TEST_CASE("feed over gain is the feed conversion where growth sets the ration") {
        SeasonInput season = spring_to_autumn();
        season.ration = SeasonInput::Ration::growth;
        season.fcr = 1.3;
        const TankSeason out = season_of(grower(), season)[0];
        check_close(out.feed_kg / out.gain_kg, 1.3, 1e-9);
        double months = 0;
        for (const TankSeason::MonthFeed& month : out.feed_by_month) months += month.feed_kg;
        check_close(months, out.feed_kg, 1e-9);
        CHECK(out.feed_by_month.size() == 7);
        // Hatchery constant (Haskell; Leitritz & Lewis 1980): percent of weight a day = 3 x
        // conversion x daily gain of length x 100 / length. For small steps the same feed.
        const FishGroup group = grower().fish[0];
        const double k = group.species.condition_g_cm3;
        for (const double weight_g : {20.0, 100.0, 400.0}) {
            const double grown = grown_g({weight_g, 12, 1.5e-3, 1}, 1);
            const double length = std::cbrt(weight_g / k);
            const double longer = std::cbrt(grown / k);
            const double percent = 3 * 1.3 * (longer - length) * 100 / length;
            check_close(percent / 100 * weight_g, 1.3 * (grown - weight_g),
                        0.05 * 1.3 * (grown - weight_g));
        }
        // By the energy of growth (rainbow, 292 groups): DE = 1.31 W^0.43 + RE / (0.66 (1 +
        // 0.000652 fat)), kJ a day; the worked figure.
        const auto digestible_kj = [](double weight_g, double gained_kj, double fat_g_kg) {
            return 1.31 * std::pow(weight_g, 0.43) + gained_kj / (0.66 * (1 + 0.000652 * fat_g_kg));
        };
        check_close(digestible_kj(100, 12, 200), 25.57, 0.005);
        // Gain of 7 kJ/g on a growers' feed of 160 g/kg fat, 16.5 kJ/g digestible (from memory).
        for (const double t : {10.0, 12.0, 15.0}) {
            const double gain_g =
                grown_g({100, t, 1.5e-3, growth_response(t, group.species)}, 1) - 100;
            const double by_energy = digestible_kj(100, 7 * gain_g, 160) / 16.5;
            check_close(1.2 * gain_g, by_energy, 0.3 * by_energy);
        }
    }

    TEST_CASE("half the step changes a weight by under a thousandth") {
        SeasonInput season = spring_to_autumn();
        const TankSeason whole = season_of(grower(), season)[0];
        season.step_days = 0.5;
        const TankSeason halves = season_of(grower(), season)[0];
        for (std::size_t at = 0; at < whole.days.size(); ++at) {
            check_close(halves.days[at].mean_weight_high_g, whole.days[at].mean_weight_high_g,
                        1e-3 * whole.days[at].mean_weight_high_g);
        }
    }

    TEST_CASE("fish die, are thinned, and are sold at their size") {
        SeasonInput season = spring_to_autumn();
        season.mortality_percent_month = 10;
        const TankSeason dying = season_of(grower(), season)[0];
        check_close(dying.days.back().fish_count, 60 * std::pow(0.9, 213 / (365.25 / 12)), 1e-9);
        season.mortality_percent_month = 0;
        season.thinning = {{.day = day(2026, 6, 1), .count = 20},
                           {.day = day(2026, 7, 1), .tank = "another", .share = 0.9},
                           {.day = day(2026, 8, 1), .share = 0.5},
                           {.day = day(2026, 9, 1), .to_kg = 2}};
        const TankSeason thinned = season_of(grower(), season)[0];
        CHECK(thinned.days[60].fish_count == 60);
        CHECK(thinned.days[61].fish_count == 40);
        CHECK(thinned.days[122].fish_count == 20);
        check_close(thinned.days[153].biomass_high_kg, 2, 1e-9);
        season = spring_to_autumn();
        season.until.reset();
        season.target_weight_g = 150;
        const auto temperatures = temperatures_of(season);
        const TankSeason sold = season_of(grower(), season)[0];
        REQUIRE((sold.harvest.fast && sold.harvest.expected && sold.harvest.slow));
        CHECK(*sold.harvest.fast < *sold.harvest.expected);
        CHECK(*sold.harvest.expected < *sold.harvest.slow);
        CHECK(sold.days.back().day == *sold.harvest.slow);
        for (const SeasonDay& each : sold.days) {
            CHECK(each.mean_weight_high_g <= 150 + 3);  // a day of growth
            CHECK(each.biomass_high_kg >= each.biomass_kg - 1e-9);
            if (each.day >= *sold.harvest.expected) CHECK(each.ration_g_day == 0);
        }
        CHECK(temperatures.size() > sold.days.size());
        // The last fish is sold too.
        Tank one = grower();
        one.fish[0].count = 1;
        CHECK(season_of(one, season)[0].harvest.expected.has_value());
    }

    TEST_CASE("a large group beside small ones is judged as heavy as it gets") {
        SeasonInput season = spring_to_autumn();
        season.target_weight_g = 200;
        Tank tank = grower();
        tank.fish = {fish("rainbow trout", 60, 150), fish("rainbow trout", 80, 20)};
        const TankSeason out = season_of(tank, season)[0];
        for (const SeasonDay& each : out.days) {
            CHECK(each.biomass_high_kg >= each.biomass_kg - 1e-9);
        }
    }

    TEST_CASE("sizes lie as far apart as the slowest growth leaves them") {
        // By thermal units the cube roots grow alike, so that lengths come nearer to each other.
        SeasonInput season = spring_to_autumn();
        season.monthly_mean_c->fill(12);
        season.warm_spell_c = 0;
        Tank tank = grower();
        tank.volume_l = 20000;
        tank.inflow[0].flow_l_min = 900;
        tank.fish = {fish("rainbow trout", 10, 100), fish("rainbow trout", 10, 28)};
        const TankSeason out = season_of(tank, season)[0];
        const Species& rainbow = find_species("rainbow")->species;
        const double a_day =
            tgc_of_species("rainbow trout")->slow * 12 * growth_response(12, rainbow);
        int apart = 0;
        for (std::size_t at = 0; at < 60; ++at) {
            const double grown = a_day * static_cast<double>(at);
            const bool warns = (std::cbrt(100) + grown) / (std::cbrt(28) + grown) > 1.5;
            CHECK((out.days[at].verdict == Status::warn) == warns);
            apart += warns ? 1 : 0;
        }
        CHECK(apart > 5);
        CHECK(apart < 55);
    }

    TEST_CASE("cold is judged without a warm spell, and is no heat") {
        SeasonInput season = spring_to_autumn();
        season.start = day(2026, 11, 1);
        season.until = day(2027, 3, 31);
        season.monthly_mean_c = {1, 0.8, 1.2, 4, 8, 11, 13, 13, 10, 7, 3, 1.5};
        const TankSeason out = season_of(grower(10), season)[0];
        CHECK(out.days_cold > 30);
        CHECK(out.days_warm == 0);
        REQUIRE_FALSE(out.warns.empty());
        CHECK(out.warns.front().too_cold);
        const System system = alone(grower(10), kSeaLevelKpa);
        const SeasonStock plan = plan_of(system, season, Level::warn);
        CHECK(plan.fish_count == 0);
        CHECK_FALSE(plan.last_safe.has_value());
        CHECK(plan.count_by_the_rest.value_or(0) > 1);
    }

    TEST_CASE("a ration by growth: no rest in water too warm or too cold to eat in") {
        SeasonInput season = spring_to_autumn();
        season.ration = SeasonInput::Ration::growth;
        season.until = season.start + 1;
        season.warm_spell_c = 0;
        std::optional<double> before;
        for (double mean = 0; mean < 24; mean += 0.1) {
            season.monthly_mean_c->fill(mean);
            Tank tank = grower();
            tank.water.temperature_c = 0;
            tank.water.peak_temperature_c = 0;
            const SeasonDay today = season_of(tank, season)[0].days[0];
            REQUIRE(today.oxygen_lowest_mg_l.has_value());
            if (before) CHECK(*today.oxygen_lowest_mg_l <= *before + 1e-9);
            before = today.oxygen_lowest_mg_l;
        }
        const Species& rainbow = find_species("rainbow")->species;
        CHECK(most_response(9, rainbow) == growth_response(9, rainbow));
        CHECK(most_response(rainbow.feeding_stop_c + 1, rainbow) == 1);
        CHECK(grown_g({80, 21, 1.5e-3, 0}, 1) == 80);
    }

    TEST_CASE("months near freezing keep their means and never go below it") {
        SeasonInput season = spring_to_autumn();
        season.monthly_mean_c = {0.3, 0.1, 0.1, 3, 9, 12, 14, 14, 10, 6, 1, 0.3};
        const Day first = day(2027, 1, 1);
        const auto t = season_temperatures(season, first, day(2027, 12, 31));
        double january = 0;
        for (std::size_t at = 0; at < t.size(); ++at) {
            CHECK(t[at] >= 0);
            if (at < 31) january += t[at] / 31;
        }
        check_close(january, 0.3, 1e-9);
        // No flatter than it must: its coldest day, the last one here, just freezes.
        season.monthly_mean_c = {0.9, 0, 4, 6, 9, 12, 14, 14, 10, 6, 4, 3};
        const auto freezing = season_temperatures(season, first, day(2027, 1, 31));
        CHECK(*std::min_element(freezing.begin(), freezing.end()) == freezing.back());
        CHECK(freezing.back() == 0);
        CHECK(freezing[29] > 0);
    }

    TEST_CASE("fish that thinning would take out are no way through the heat") {
        SeasonInput season = spring_to_autumn();
        season.monthly_mean_c = {4, 4, 5, 7, 9, 14, 20, 20, 11, 9, 6, 5};
        season.thinning = {{.day = day(2026, 6, 1), .count = 2}};
        const System system = alone(grower(40), kSeaLevelKpa);
        const SeasonStock plan = plan_of(system, season, Level::fail);
        CHECK(plan.fish_count == 0);
        CHECK(plan.last_safe.has_value());
        // All of them out in time is one.
        season.thinning = {{.day = day(2026, 6, 1), .share = 1}};
        CHECK(plan_of(system, season, Level::fail).fish_count > 1);
        CHECK(season_of(grower(40), season)[0].harvest.fast == std::nullopt);
    }

    TEST_CASE("the stock of the plan passes the season, and one more does not") {
        RandomTanks random(181);
        int found = 0;
        int too_warm = 0;
        for (int draw = 0; draw < random_cases(40); ++draw) {
            SeasonInput season = spring_to_autumn();
            const double warmer = random.between(-3, 9);
            for (double& mean : *season.monthly_mean_c) mean = std::max(1.0, mean + warmer);
            season.ration =
                random.chance(0.5) ? SeasonInput::Ration::table : SeasonInput::Ration::growth;
            Tank tank = grower(std::floor(random.between(5, 300)), random.between(10, 200));
            tank.inflow[0].flow_l_min = random.between(20, 90);
            tank.inflow[0].carbon_dioxide_mg_l = 3;
            const System system = alone(tank, kSeaLevelKpa);
            const auto temperatures = temperatures_of(season);
            for (const Level level : {Level::warn, Level::fail}) {
                const SeasonStock plan = plan_of(system, season, level);
                const auto passes = [&](double count) {
                    Tank stocked = tank;
                    stocked.fish[0].count = count;
                    const TankSeason out =
                        run_season(alone(stocked, kSeaLevelKpa), season, temperatures).tanks[0];
                    const auto& list = level == Level::warn ? out.warns : out.fails;
                    return std::none_of(list.begin(), list.end(), [](const SeasonTrouble& each) {
                        return each.check != CheckId::input_doubt;
                    });
                };
                if (plan.fish_count == 0) {
                    CHECK_FALSE(passes(plan.last_safe ? std::floor(tank.fish[0].count) : 1));
                    if (plan.last_safe) {
                        ++too_warm;
                        CHECK(plan.stopped_by == CheckId::temperature);
                        CHECK(*plan.last_safe == *plan.date - 1);
                    }
                    continue;
                }
                ++found;
                CHECK(passes(plan.fish_count));
                CHECK_FALSE(passes(plan.fish_count + 1));
            }
        }
        CHECK(found > random_cases(20));
        CHECK(too_warm >= random_cases(4));
    }

    TEST_CASE("more fish, less air or warmer water never bring the first bad day later") {
        RandomTanks random(182);
        constexpr int kDraws = random_cases(600);
        int later = 0;
        for (int draw = 0; draw < kDraws; ++draw) {
            SeasonInput season = spring_to_autumn();
            season.ration = SeasonInput::Ration::percent;
            season.ration_percent_day = random.between(0.3, 1.2);
            const double warmer = random.between(-3, 4);
            for (double& mean : *season.monthly_mean_c) mean = std::max(1.0, mean + warmer);
            Tank tank = grower(std::floor(random.between(20, 400)), random.between(20, 200));
            tank.inflow[0].flow_l_min = random.between(10, 80);
            const auto temperatures = temperatures_of(season);
            const auto first_fail = [&](const Tank& of, const SeasonInput& in) {
                const TankSeason out =
                    run_season(alone(of, kSeaLevelKpa), in, temperatures).tanks[0];
                return out.fails.empty() ? day(2100, 1, 1) : out.fails.front().day;
            };
            const Day before = first_fail(tank, season);
            Tank more = tank;
            more.fish[0].count *= random.between(1, 2);
            CHECK(first_fail(more, season) <= before);
            Tank less = tank;
            scale_aeration(less, random.between(0, 1));
            CHECK(first_fail(less, season) <= before);
            // Warmer hours with the same growth.
            SeasonInput hot = season;
            hot.warm_spell_c = 2 + random.between(0, 3);
            const Day in_heat = first_fail(tank, hot);
            CHECK(in_heat <= before);
            later += in_heat < before ? 1 : 0;
        }
        CHECK(later > kDraws / 10);
    }

    TEST_CASE("rows and loops have seasons too, and an empty tank has none of its own") {
        SeasonInput season = spring_to_autumn();
        Tank upper = grower(60);
        Tank lower = grower(20);
        upper.name = "upper";
        lower.name = "lower";
        scale_aeration(lower, 0.2);
        lower.inflow[0] = Inflow{.from = "upper", .flow_l_min = 35};
        const System row{kSeaLevelKpa, {upper, lower}, std::nullopt};
        const auto out = run_season(row, season, temperatures_of(season)).tanks;
        REQUIRE(out.size() == 2);
        CHECK(out[1].days[100].oxygen_lowest_mg_l.value() <
              out[0].days[100].oxygen_lowest_mg_l.value());
        const SeasonStock of_upper = plan_of(row, season, Level::fail);
        const SeasonStock of_alone = plan_of(alone(upper, kSeaLevelKpa), season, Level::fail);
        CHECK(of_upper.fish_count < of_alone.fish_count);
        CHECK(of_upper.stopped_in == "lower");
        System loop = backyard();
        const auto round = run_season(loop, season, temperatures_of(season)).tanks;
        CHECK(round[0].days.size() == 214);
        Tank empty = grower(0);
        CHECK(plan_of(alone(empty, kSeaLevelKpa), season, Level::warn).fish_count == 0);
    }

    TEST_CASE(
        "the tanks of a row are planned in proportion: those counts pass, one more does not") {
        RandomTanks random(184);
        int found = 0;
        for (int draw = 0; draw < 12; ++draw) {
            SeasonInput season = spring_to_autumn();
            season.ration = SeasonInput::Ration::growth;
            Tank upper = grower(std::floor(random.between(20, 200)), random.between(20, 100));
            Tank lower = grower(std::floor(random.between(20, 200)), random.between(20, 100));
            upper.name = "upper";
            lower.name = "lower";
            upper.inflow[0].flow_l_min = random.between(40, 90);
            upper.inflow[0].carbon_dioxide_mg_l = 2;
            lower.inflow[0] = Inflow{.from = "upper", .flow_l_min = upper.inflow[0].flow_l_min};
            const System row{kSeaLevelKpa, {upper, lower}, std::nullopt};
            const auto temperatures = temperatures_of(season);
            const std::size_t both[] = {0, 1};
            const auto plans = plan_season(row, both, season, temperatures, Level::fail);
            const auto fails = [&](double of_upper, double of_lower) {
                System stocked = row;
                stocked.tanks[0].fish[0].count = of_upper;
                stocked.tanks[1].fish[0].count = of_lower;
                const auto out = run_season(stocked, season, temperatures).tanks;
                return !out[0].fails.empty() || !out[1].fails.empty();
            };
            if (plans[0].fish_count == 0 || plans[1].fish_count == 0) continue;
            ++found;
            CHECK_FALSE(fails(plans[0].fish_count, plans[1].fish_count));
            CHECK(plans[0].in_proportion_with == std::vector<std::string>{"lower"});
            CHECK(plans[1].in_proportion_with == std::vector<std::string>{"upper"});
            // One more in the fuller tank, the other in proportion.
            const double of[] = {upper.fish[0].count, lower.fish[0].count};
            const std::size_t full = of[0] >= of[1] ? 0 : 1;
            const double more = plans[full].fish_count + 1;
            const double other = std::max(1.0, std::floor(more * of[1 - full] / of[full]));
            CHECK((full == 0 ? fails(more, other) : fails(other, more)));
            check_close(plans[1 - full].fish_count,
                        std::max(1.0, std::floor(plans[full].fish_count * of[1 - full] / of[full])),
                        0);
        }
        CHECK(found > 8);
        // A tank that gets too warm stays empty, and the other is stocked without it.
        SeasonInput season = spring_to_autumn();
        Tank upper = grower(60);
        Tank lower = grower(60);
        upper.name = "upper";
        lower.name = "lower";
        lower.inflow[0] = Inflow{.from = "upper", .flow_l_min = 35};
        lower.fish = {fish("brook trout", 60, 60)};
        lower.limits.temperature_fail_c = 13;
        lower.limits.temperature_warn_c = 12;
        for (Tank* tank : {&upper, &lower}) {
            tank->water.temperature_c = 6;
            tank->water.peak_temperature_c = 6;
        }
        const System row{kSeaLevelKpa, {upper, lower}, std::nullopt};
        const std::size_t both[] = {0, 1};
        const auto plans = plan_season(row, both, season, temperatures_of(season), Level::fail);
        CHECK(plans[1].last_safe.has_value());
        CHECK(plans[1].fish_count == 0);
        // Beside many a single fish is stocked in proportion, too.
        System one = row;
        one.tanks[0].fish[0].count = 1;
        one.tanks[1].limits = {};
        one.tanks[1].fish = {fish("rainbow trout", 600, 60)};
        const auto with_one = plan_season(one, both, season, temperatures_of(season), Level::fail);
        CHECK(with_one[0].fish_count == 1);
        CHECK(with_one[1].in_proportion_with == std::vector<std::string>{"upper"});
        System without = row;
        without.tanks[1].fish[0].count = 0;
        const std::size_t first[] = {0};
        const SeasonStock of_upper =
            plan_season(without, first, season, temperatures_of(season), Level::fail)[0];
        CHECK(plans[0].fish_count <= of_upper.fish_count);
        CHECK(plans[0].fish_count > 10);
        // Both stocked so, the lower one emptied in time: nothing fails.
        REQUIRE(plans[1].count_until_then.has_value());
        System both_stocked = row;
        both_stocked.tanks[0].fish[0].count = plans[0].fish_count;
        both_stocked.tanks[1].fish[0].count = *plans[1].count_until_then;
        SeasonInput emptied = season;
        emptied.thinning = {{.day = *plans[1].date, .tank = "lower", .share = 1}};
        const auto out = run_season(both_stocked, emptied, temperatures_of(season)).tanks;
        CHECK(out[0].fails.empty());
        CHECK(out[1].fails.empty());
    }

    TEST_CASE("the air of the worst day makes that day pass; feed by pellets adds up") {
        SeasonInput season = spring_to_autumn();
        const System system = alone(grower(200), kSeaLevelKpa);
        const auto temperatures = temperatures_of(season);
        const TankSeason out = run_season(system, season, temperatures).tanks[0];
        const auto supply =
            season_supply(0, out, system, season, temperatures, Sold::metric).value();
        CHECK_FALSE(supply.passes);
        REQUIRE(supply.on);
        int air = 0;
        for (const Remedy& remedy : supply.remedies) {
            if (remedy.action != Action::add_air) continue;
            ++air;
            System aired = system;
            for (Aerator& each : aired.tanks[0].aeration) {
                auto& diffuser = std::get<Diffuser>(each.kind);
                diffuser.air_flow_l_min += *remedy.value;
            }
            const TankSeason better = run_season(aired, season, temperatures).tanks[0];
            for (const TankSeason::Used& used : better.used) {
                if (used.check != CheckId::oxygen) continue;
                for (const double share : used.share) CHECK(share <= 100);
            }
            const auto at = static_cast<std::size_t>(supply.day - season.start);
            for (const TankSeason::Used& used : out.used) {
                if (used.check == CheckId::oxygen) CHECK(used.share[at] > 100);
            }
        }
        CHECK(air == 1);
        const System few = alone(grower(10), kSeaLevelKpa);
        const TankSeason easy = run_season(few, season, temperatures).tanks[0];
        CHECK(season_supply(0, easy, few, season, temperatures, Sold::metric)->passes);
        double of_months = 0;
        double of_pellets = 0;
        for (const TankSeason::MonthFeed& month : out.feed_by_month) {
            of_months += month.feed_kg;
            for (const PelletFeed& pellet : month.pellets) {
                of_pellets += pellet.feed_kg;
                CHECK(pellet.pellet_mm >= 3);  // 60 g and more
            }
        }
        check_close(of_months, out.feed_kg, 1e-9);
        check_close(of_pellets, out.feed_kg, 1e-9);
    }

    TEST_CASE("what is worse in the cold is judged without the warm spell") {
        SeasonInput season = spring_to_autumn();
        season.monthly_mean_c->fill(5);
        season.until = season.start + 20;
        season.ration = SeasonInput::Ration::percent;
        season.ration_percent_day = 1.1;
        Tank tank = grower(40);
        const auto warns_of = [&](double spell_c) {
            season.warm_spell_c = spell_c;
            const TankSeason out = season_of(tank, season)[0];
            return std::any_of(out.warns.begin(), out.warns.end(), [](const SeasonTrouble& each) {
                return each.check == CheckId::ration;
            });
        };
        CHECK(warns_of(0));
        CHECK(warns_of(4));
    }

    TEST_CASE("slow fish are in early life for longer, and more of them are left at a weight") {
        SeasonInput season = spring_to_autumn();
        season.monthly_mean_c->fill(10);
        Tank tank = grower(3000, 0.4);
        const TankSeason fry = season_of(tank, season)[0];
        int met = 0;
        for (const SeasonDay& each : fry.days) {
            if (each.mean_weight_low_g >= 1 || each.mean_weight_high_g < 1) continue;
            Tank slow = tank;
            slow.fish[0].mean_weight_g = each.mean_weight_low_g;
            slow.fish[0].count = each.fish_count;
            slow.water.temperature_c = *slow.water.peak_temperature_c = 12;
            slow.water.alkalinity_mg_l.reset();
            CHECK(each.verdict >= assessed(slow).verdict);
            ++met;
        }
        CHECK(met > 2);
        // Thinned to a weight: at every pace that weight is left.
        season.thinning = {{.day = day(2026, 8, 1), .to_kg = 4}};
        const TankSeason out = season_of(grower(200, 40), season)[0];
        const SeasonDay& after = out.days[122];
        REQUIRE(after.day == day(2026, 8, 1));
        check_close(after.biomass_kg, 4, 1e-9);
        check_close(after.fish_count * after.mean_weight_g / 1000, 4, 1e-9);
        // Slow fish that are as heavy later are more of them: what they come to is judged.
        const SeasonDay& last = out.days.back();
        const double slow_kg = 4000 / after.mean_weight_low_g * last.mean_weight_low_g / 1000;
        CHECK(last.biomass_high_kg >= slow_kg - 1e-9);
    }

    TEST_CASE("oxygen that flows in is no larger share of saturation in warmer water") {
        SeasonInput season = spring_to_autumn();
        season.monthly_mean_c->fill(16);
        Tank measured = grower(60);
        measured.water.temperature_c = 6;
        measured.water.peak_temperature_c = 6;
        measured.inflow[0].oxygen_percent.reset();
        measured.inflow[0].oxygen_mg_l = 12;
        Tank share = measured;
        share.inflow[0].oxygen_mg_l.reset();
        share.inflow[0].oxygen_percent =
            100 * 12 /
            oxygen_saturation_mg_l({.temperature_c = 6, .pressure_kpa = double{kSeaLevelKpa}});
        const double by_reading = *season_of(measured, season)[0].days[50].oxygen_lowest_mg_l;
        check_close(by_reading, *season_of(share, season)[0].days[50].oxygen_lowest_mg_l, 1e-9);
        // In colder water it is what was read.
        season.monthly_mean_c->fill(3);
        season.warm_spell_c = 0;
        const double cold = *season_of(measured, season)[0].days[50].oxygen_lowest_mg_l;
        CHECK(cold < *season_of(share, season)[0].days[50].oxygen_lowest_mg_l);
    }

    TEST_CASE("growth by weighings is not held back by a ration") {
        SeasonInput season = spring_to_autumn();
        Tank tank = grower();
        tank.fish[0].tgc = Tgc{1.8e-3, 2.0e-3, 2.2e-3, true};
        const TankSeason fed = season_of(tank, season)[0];
        CHECK(fed.days_held_back == 0);
        // They breathe, and are fed, as what grew so: a small ration does not hide it.
        season.ration = SeasonInput::Ration::percent;
        season.ration_percent_day = 0.3;
        const TankSeason little = season_of(tank, season)[0];
        CHECK(little.feed_kg >= little.gain_kg * season.fcr - 1e-9);
        CHECK(little.days[100].demand_peak_g_h > 0.7 * fed.days[100].demand_peak_g_h);
        season.ration = SeasonInput::Ration::growth;
        const TankSeason free = season_of(tank, season)[0];
        check_close(fed.days.back().mean_weight_g, free.days.back().mean_weight_g, 1e-9);
        tank.fish[0].tgc->as_fed = false;
        season.ration = SeasonInput::Ration::table;
        const TankSeason held = season_of(tank, season)[0];
        CHECK(held.days_held_back > 30);
        CHECK(held.days.back().mean_weight_g < fed.days.back().mean_weight_g);
    }

    TEST_CASE("slow fish that thinning leaves are judged though none of the expected are left") {
        SeasonInput season = spring_to_autumn();
        season.monthly_mean_c = {4, 4.5, 6, 8, 9, 11, 22, 25, 12, 9, 6.5, 5};
        season.thinning = {{.day = day(2026, 6, 1), .to_kg = 6},
                           {.day = day(2026, 6, 20), .count = 102}};
        const TankSeason out = season_of(grower(200, 40), season)[0];
        CHECK(out.days[120].fish_count == 0);
        CHECK(out.days[120].stocked);
        CHECK(out.verdict == Status::fail);
    }

    TEST_CASE("one tank that grows as it was weighed leaves the ration of its neighbour judged") {
        SeasonInput season = spring_to_autumn();
        season.ration = SeasonInput::Ration::percent;
        season.ration_percent_day = 5;
        Tank upper = grower(30);
        Tank lower = grower(30);
        upper.name = "upper";
        lower.name = "lower";
        lower.inflow[0] = Inflow{.from = "upper", .flow_l_min = 35};
        upper.fish[0].tgc = Tgc{1.0e-3, 1.2e-3, 1.4e-3, true};
        const auto out = run_season({kSeaLevelKpa, {upper, lower}, std::nullopt}, season,
                                    temperatures_of(season))
                             .tanks;
        const auto warns = [](const TankSeason& of) {
            return std::any_of(of.warns.begin(), of.warns.end(), [](const SeasonTrouble& each) {
                return each.check == CheckId::ration;
            });
        };
        CHECK_FALSE(warns(out[0]));
        CHECK(warns(out[1]));
    }

    TEST_CASE("fish of any weight from slow to fast are fed no more than is judged") {
        SeasonInput season = spring_to_autumn();
        season.monthly_mean_c->fill(12);
        const TankSeason out = season_of(grower(100, 40), season)[0];
        const auto tan_share = [](const TankSeason& of, std::size_t at) {
            for (const TankSeason::Used& used : of.used) {
                if (used.check == CheckId::total_ammonia) return used.share[at];
            }
            return -1.0;
        };
        int less = 0;
        for (std::size_t at = 20; at < 200; at += 20) {
            const SeasonDay& today = out.days[at];
            double alone_most = 0;
            for (int i = 0; i <= 20; ++i) {
                const double weight_g =
                    today.mean_weight_low_g +
                    i / 20.0 * (today.mean_weight_high_g - today.mean_weight_low_g);
                SeasonInput that_day = season;
                that_day.start = today.day;
                that_day.until = today.day;
                Tank tank = grower(today.fish_count, weight_g);
                tank.water.temperature_c = tank.water.peak_temperature_c.emplace(12);
                alone_most = std::max(alone_most, tan_share(season_of(tank, that_day)[0], 0));
            }
            CHECK(tan_share(out, at) >= alone_most * (1 - 1e-4));
            less += alone_most < tan_share(out, at) * (1 + 1e-4) ? 1 : 0;
        }
        CHECK(less > 5);  // and hardly more than that
    }

    TEST_CASE("air that is asked for is enough on every day, of random seasons too") {
        RandomTanks random(191);
        int asked = 0;
        for (int draw = 0; draw < 25; ++draw) {
            SeasonInput season = spring_to_autumn();
            season.until = season.start + 60;
            season.monthly_mean_c.reset();
            for (Day d = season.start; d <= *season.until; ++d) {
                season.daily.push_back({d, random.between(7, 15)});
            }
            Tank tank = grower(std::floor(random.between(40, 400)), random.between(20, 90));
            tank.inflow[0].flow_l_min = random.between(10, 40);
            const System system = alone(tank, random.pressure_kpa());
            const auto temperatures = temperatures_of(season);
            const TankSeason out = run_season(system, season, temperatures).tanks[0];
            const auto supply = season_supply(0, out, system, season, temperatures, Sold::metric);
            if (!supply || supply->passes) continue;
            for (const Remedy& remedy : supply->remedies) {
                ++asked;
                const System changed = with_remedy(system, assess_system(system), Part{0}, remedy);
                const TankSeason better = run_season(changed, season, temperatures).tanks[0];
                CHECK(std::none_of(
                    better.warns.begin(), better.warns.end(),
                    [](const SeasonTrouble& each) { return each.check == CheckId::oxygen; }));
            }
        }
        CHECK(asked > 10);
    }

    TEST_CASE("what thinning takes is told, and where it asks for more than there are") {
        SeasonInput season = spring_to_autumn();
        season.thinning = {{.day = day(2026, 6, 1), .count = 20},
                           {.day = day(2026, 7, 1), .count = 50}};
        const auto thinned = season_of(grower(60), season)[0].thinned;
        REQUIRE(thinned.size() == 2);
        CHECK(thinned[0].fish_count == 20);
        CHECK_FALSE(thinned[0].too_many);
        CHECK(thinned[1].fish_count == 40);
        CHECK(thinned[1].too_many);
        const TankSeason more = season_of(grower(80), season)[0];
        CHECK_FALSE(more.thinned[1].too_many);
        const SeasonDay& that_day = more.days[61];
        check_close(more.thinned[0].biomass_kg, 20 * that_day.mean_weight_g / 1000, 1e-9);
    }

    TEST_CASE("a loop's own checks are judged, the cold of its filter without the warm spell") {
        SeasonInput season = spring_to_autumn();
        season.monthly_mean_c = {9, 9, 9, 9, 9, 9, 9, 9, 9, 7, 7, 7};
        const System loop = backyard();
        const SystemSeason out = run_season(loop, season, temperatures_of(season));
        REQUIRE(out.loop.has_value());
        CHECK(out.loop->loop == loop.loop->name);
        const auto cold = std::find_if(
            out.loop->warns.begin(), out.loop->warns.end(),
            [](const SeasonTrouble& each) { return each.check == CheckId::biofilter; });
        REQUIRE(cold != out.loop->warns.end());
        CHECK(cold->day > day(2026, 9, 15));
        const auto& unchecked = out.loop->unchecked;
        CHECK(std::count(unchecked.begin(), unchecked.end(), CheckId::nitrite) == 1);
        const std::size_t first[] = {0};
        const SeasonStock plan =
            plan_season(loop, first, season, temperatures_of(season), Level::warn)[0];
        CHECK(plan.fish_count == 0);
        CHECK(std::count(plan.not_by_stock.begin(), plan.not_by_stock.end(), CheckId::biofilter) ==
              1);
    }

    TEST_CASE("the heat is told, and pellets by size") {
        SeasonInput season = spring_to_autumn();
        (*season.monthly_mean_c)[6] = (*season.monthly_mean_c)[7] = 21;
        const TankSeason hot = season_of(grower(5), season)[0];
        REQUIRE(hot.too_warm_from.has_value());
        CHECK(hot.days_too_warm > 30);
        CHECK(hot.days_warm >= hot.days_too_warm);
        // From each weight on; common practice, no source.
        for (const auto& [from_g, mm] :
             {std::pair{0.2, 0.6}, std::pair{1.0, 1.0}, std::pair{2.0, 1.5}, std::pair{8.0, 2.0},
              std::pair{25.0, 3.0}, std::pair{60.0, 4.0}, std::pair{200.0, 6.0},
              std::pair{500.0, 8.0}}) {
            CHECK(pellet_mm(from_g) == mm);
            if (from_g > 0.2) CHECK(pellet_mm(std::nextafter(from_g, 0)) < mm);
        }
        CHECK(pellet_mm(20000) == 8);
    }
}
