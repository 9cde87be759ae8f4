// Inside the model: days as dates.
#pragma once

#include <chrono>

#include "coldtank/description.hpp"

namespace coldtank {

inline constexpr double kDaysOfYear = 365.25;

inline std::chrono::year_month_day date_of(Day day) {
    return std::chrono::sys_days{std::chrono::days{day}};
}
inline Day day_of(std::chrono::year_month_day date) {
    return std::chrono::sys_days{date}.time_since_epoch().count();
}

}  // namespace coldtank
