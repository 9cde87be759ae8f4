#include "changes.hpp"

#include "coldtank/remedy.hpp"

namespace coldtank {

void scale_fish(Tank& tank, double share) {
    for (FishGroup& group : tank.fish) {
        group.count *= share;
        if (group.ration_g_day) *group.ration_g_day *= share;
        if (group.kept_ration_g_day) *group.kept_ration_g_day *= share;
    }
    if (tank.feed.ration_g_day) *tank.feed.ration_g_day *= share;
}

void scale_flow(Tank& tank, double share) {
    for (Inflow& inflow : tank.inflow) inflow.flow_l_min *= share;
    if (tank.loop) tank.loop->flow_l_min *= share;
}

void scale_aeration(Tank& tank, double share) {
    for (Aerator& aerator : tank.aeration) {
        if (auto* diffuser = std::get_if<Diffuser>(&aerator.kind)) {
            diffuser->air_flow_l_min *= share;
        } else if (auto* rated = std::get_if<RatedAerator>(&aerator.kind)) {
            rated->sotr_g_h *= share;
        } else if (auto* pure = std::get_if<PureOxygen>(&aerator.kind)) {
            pure->flow_l_min *= share;
        }
    }
}

void change_temperature(Water& water, double temperature_c) {
    const double change = temperature_c - water.temperature_c;
    water.temperature_c = temperature_c;
    if (water.peak_temperature_c) *water.peak_temperature_c += change;
    if (water.planned_peak_temperature_c) *water.planned_peak_temperature_c += change;
}

void set_ration(Tank& tank, double ration_g_day) {
    for (FishGroup& group : tank.fish) {
        group.ration_g_day.reset();
        group.kept_ration_g_day.reset();
    }
    tank.feed.ration_percent_day.reset();
    tank.feed.ration_g_day = ration_g_day;
    if (ration_g_day == 0) tank.feed.fasted_h = kStoppedHours;
}

System fed_with(const System& system, const SystemBudget& budget, double feed_g_day) {
    System changed = system;
    for (std::size_t i = 0; i < changed.tanks.size(); ++i) {
        const double now_g_day = budget.tanks[i].ration_g_day;
        if (changed.tanks[i].loop->flow_l_min == 0 || now_g_day == 0) continue;
        set_ration(changed.tanks[i], now_g_day * (feed_g_day / budget.loop->feed_g_day));
    }
    return changed;
}

double oxygen_flow_l_min(const Tank& tank) {
    double sum = 0;
    for (const Aerator& aerator : tank.aeration) {
        if (const auto* o = std::get_if<PureOxygen>(&aerator.kind)) sum += o->flow_l_min;
    }
    return sum;
}

namespace {

// Every group that has a stated ration with that as its own.
void share_out_ration(Tank& tank, const TankBudget& budget) {
    std::size_t i = 0;
    for (FishGroup& group : tank.fish) {
        if (group.count == 0) continue;
        const GroupBudget& figures = budget.groups[i++];
        if (figures.ration_stated) group.ration_g_day = figures.ration_g_day;
    }
    tank.feed.ration_g_day.reset();
    tank.feed.ration_percent_day.reset();
}

// Fish that eat by the table go on eating what it gave, whatever it gives in colder water.
void keep_rations(Tank& tank, const TankBudget& budget) {
    std::size_t i = 0;
    for (FishGroup& group : tank.fish) {
        if (group.count == 0) continue;
        const GroupBudget& figures = budget.groups[i++];
        // Of those that are left: some may have been taken out first.
        if (figures.ration_stated) continue;
        group.kept_ration_g_day = figures.ration_g_day * (group.count / figures.count);
    }
}

// Of several inflows each in proportion.
void set_flow(Tank& tank, double flow_l_min) {
    if (tank.loop) {
        tank.loop->flow_l_min = flow_l_min;
    } else if (tank.inflow.size() == 1) {
        tank.inflow.front().flow_l_min = flow_l_min;
    } else {
        scale_flow(tank, flow_l_min / flow_l_min_of(tank));
    }
}

// What a change does to one tank and to nothing else.
Tank changed_tank(const Tank& tank, const TankBudget& budget, const Remedy& remedy) {
    Tank changed = tank;
    const double value = remedy.value.value_or(0);
    switch (remedy.action) {
        case Action::take_out_fish:
            scale_fish(changed, (budget.fish_count - value) / budget.fish_count);
            break;
        case Action::cut_ration:
            set_ration(changed, value);
            break;
        case Action::add_air: {
            const double present = air_flow_l_min(tank.aeration);
            change_aerators<Diffuser>(changed, [&](Diffuser& diffuser) {
                diffuser.air_flow_l_min *= (present + value) / present;
            });
            break;
        }
        case Action::add_aerator:
            changed.aeration.push_back({"added", {}, {}, RatedAerator{value}});
            break;
        case Action::raise_flow:
            set_flow(changed, value);
            break;
        case Action::add_fall:
            changed.aeration.push_back({"added", {}, {}, Cascade{value}});
            break;
        case Action::add_inflow: {
            Inflow inflow;
            inflow.flow_l_min = value;
            inflow.oxygen_percent = 100;
            inflow.tan_mg_l = 0;
            inflow.carbon_dioxide_mg_l = budget.carbon_dioxide.in_air_mg_l;
            changed.inflow = {inflow};
            break;
        }
        case Action::cool:
            keep_rations(changed, budget);
            change_temperature(changed.water, value);
            break;
        case Action::warm:
            change_temperature(changed.water, value);
            break;
        case Action::add_oxygen:
            changed.aeration.push_back({"added", {}, {}, PureOxygen{value, kAddedAbsorption}});
            break;
        case Action::cut_oxygen: {
            const double present = oxygen_flow_l_min(tank);
            change_aerators<PureOxygen>(
                changed, [&](PureOxygen& oxygen) { oxygen.flow_l_min *= value / present; });
            break;
        }
        case Action::enlarge:
            changed.volume_l = value;
            break;
        case Action::grade: {
            share_out_ration(changed, budget);
            std::erase_if(changed.fish, [](const FishGroup& group) { return group.count == 0; });
            for (const std::size_t i : remedy.groups) changed.fish[i].count = 0;
            break;
        }
        case Action::add_chloride:
            changed.readings.chloride_mg_l = value;
            break;
        case Action::change_current:
            changed.readings.current_cm_s = value;
            break;
        default:
            break;  // of a loop, or nothing
    }
    return changed;
}

// What a change does to a loop, and to its tanks in proportion.
System changed_loop(const System& system, const SystemBudget& budget, const Remedy& remedy) {
    System changed = system;
    Loop& loop = *changed.loop;
    const double value = remedy.value.value_or(0);
    switch (remedy.action) {
        case Action::cut_ration:
            return fed_with(system, budget, value);
        case Action::add_media:
            *loop.biofilter->media_area_m2 += value;
            break;
        case Action::add_removal:
            *loop.biofilter->removal_g_day += value;
            break;
        case Action::raise_exchange:
            loop.exchange_l_day = value;
            break;
        case Action::raise_round:
            for (Tank& tank : changed.tanks) {
                tank.loop->flow_l_min *= value / (budget.loop->flow_m3_h * 1000 / 60);
            }
            break;
        case Action::change_bed:
            loop.plants->bed_area_m2 = value;
            break;
        case Action::add_chloride:
            loop.readings.chloride_mg_l = value;
            break;
        default:
            break;
    }
    return changed;
}

// What a change to a tank of a row does to others: its water goes on as cold as it is; that more
// comes down from the top is for the end, see draw_from_above(). A tank that was changed so far
// before for another stays so. False where it does nothing to others.
bool carry_out_in_row(const Remedy& remedy, std::size_t at, const SystemBudget& budget,
                      System& system) {
    std::vector<Tank>& tanks = system.tanks;
    const double present_c = tanks[at].water.temperature_c;
    if (remedy.action == Action::raise_flow) {
        if (*remedy.value > flow_l_min_of(tanks[at])) set_flow(tanks[at], *remedy.value);
        return true;
    }
    const bool cooler = remedy.action == Action::cool;
    if (!cooler && remedy.action != Action::warm) return false;
    if (cooler ? *remedy.value >= present_c : *remedy.value <= present_c) return true;
    tanks[at] = changed_tank(tanks[at], budget.tanks[at], remedy);
    tanks[at].water.from_above = Water::FromAbove::nothing;
    std::vector<Tank> mixed = tanks;
    take_water_from_above(mixed);
    for (std::size_t i = 0; i < tanks.size(); ++i) {
        if (mixed[i].water.temperature_c != tanks[i].water.temperature_c) {
            Remedy follows = remedy;
            follows.value = mixed[i].water.temperature_c;
            tanks[i] = changed_tank(tanks[i], budget.tanks[i], follows);
        }
        tanks[i].water = mixed[i].water;
    }
    return true;
}

}  // namespace

void carry_out(const Remedy& remedy, Part part, const SystemBudget& budget, System& system) {
    if (remedy.action == Action::two_changes) {
        for (const Remedy& each : remedy.parts) carry_out(each, part, budget, system);
        return;
    }
    if (!part.tank) {
        system = changed_loop(system, budget, remedy);
        return;
    }
    const std::size_t tank = *part.tank;
    const bool thermal = remedy.action == Action::cool || remedy.action == Action::warm;
    if (system.is_row() && carry_out_in_row(remedy, tank, budget, system)) return;
    if (!thermal || !system.loop) {
        system.tanks[tank] = changed_tank(system.tanks[tank], budget.tanks[tank], remedy);
        return;
    }
    const double warmer_c = remedy.value.value() - system.tanks[tank].water.temperature_c;
    for (std::size_t i = 0; i < system.tanks.size(); ++i) {
        Remedy each = remedy;
        each.value = system.tanks[i].water.temperature_c + warmer_c;
        system.tanks[i] = changed_tank(system.tanks[i], budget.tanks[i], each);
    }
    change_temperature(system.loop->water, system.loop->water.temperature_c + warmer_c);
}

System with_remedy(const System& system, const SystemBudget& budget, Part part,
                   const Remedy& remedy) {
    System changed = system;
    carry_out(remedy, part, budget, changed);
    if (changed.is_row()) draw_from_above(changed.tanks);
    return changed;
}

Tank with_change_of_one(const Tank& tank, const TankBudget& budget, const Remedy& remedy) {
    if (remedy.action != Action::two_changes) return changed_tank(tank, budget, remedy);
    Tank changed = tank;
    for (const Remedy& each : remedy.parts) changed = changed_tank(changed, budget, each);
    return changed;
}

}  // namespace coldtank
