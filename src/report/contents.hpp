// What a report contains, listed once: its JSON, its schema and the columns of the logbook follow.
#pragma once

#include <string>

#include "report/format.hpp"
#include "report/report.hpp"

namespace coldtank::io {

// A record of the logbook has nothing that is for people to do or read.
enum class Purpose { report, record };

// The keys of one, within an object that has begun.
void list_contents(const Report& report, const Instant& now, Fields& out);
void list_contents(const TankReport& report, Purpose purpose, Fields& out);
void list_contents(const LoopReport& report, Purpose purpose, Fields& out);

// An action, its value and its unit.
void list_remedy(const Remedy& remedy, Fields& out);
// Checks without remedies.
void list_checks(const std::vector<Check>& checks, Fields& out);
// The "trips" of a report.
void list_trips(const std::vector<TripReport>& trips, Fields& out);
// The "site" and the "errors" of a report.
void list_site(const std::optional<Site>& site, double pressure_kpa, Fields& out);
void list_errors(std::span<const InputError> errors, Fields& out);
// What the JSON of a run says of it all.
void list_head(const Instant& now, Status verdict, Fields& out);

}  // namespace coldtank::io
