#include "cli/commands.hpp"
#include "embedded.hpp"

namespace coldtank::cli {
namespace {

constexpr Option kOptions[] = {
    {Option::Kind::flag, "--bucket", "", "fish in a bucket with a battery-run stone"},
    {.kind = Option::Kind::flag,
     .name = "--loop",
     .value = "",
     .help = "an aquaponic loop: a tank, a filter, beds",
     .excludes = "--bucket"},
    {.kind = Option::Kind::flag,
     .name = "--row",
     .value = "",
     .help = "a spring and three tanks, one below the other",
     .excludes = "--bucket|--loop"},
    kOutputOption};

int run(const Arguments& arguments) {
    return write_results(arguments, arguments.has("--bucket") ? embedded::starter_bucket_json
                                    : arguments.has("--loop") ? embedded::starter_loop_json
                                    : arguments.has("--row")  ? embedded::starter_row_json
                                                              : embedded::starter_tank_json);
}

}  // namespace

const Command kStarter{
    "starter",
    "A description to begin from: put your own names and numbers in, leave out what you have not "
    "measured.",
    "  coldtank starter > farm.json\n"
    "  coldtank starter --loop > greenhouse.json\n"
    "  coldtank starter --row > raceways.json",
    kOptions, run};

}  // namespace coldtank::cli
