#include "changes.hpp"

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
    if (tank.inflow) tank.inflow->flow_l_min *= share;
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

}  // namespace coldtank
