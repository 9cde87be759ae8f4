#include <memory>

#include "cli/commands.hpp"
#include "cli/help.hpp"
#include "embedded.hpp"

namespace coldtank::cli {

void add_starter(CLI::App& app, int& status) {
    const auto bucket = std::make_shared<bool>(false);
    const auto loop = std::make_shared<bool>(false);
    CLI::App* command = add_command(app, "starter",
                                    "A description to begin from: put your own names and numbers "
                                    "in, leave out what you have not measured.",
                                    "  coldtank starter > farm.json\n"
                                    "  coldtank starter --loop > greenhouse.json");
    command->add_flag("--bucket", *bucket, "fish in a bucket with a battery-run stone");
    command->add_flag("--loop", *loop, "an aquaponic loop: a tank, a filter, beds")
        ->excludes("--bucket");
    command->callback([bucket, loop, &status] {
        const bool done = put(*bucket ? embedded::starter_bucket_json
                              : *loop ? embedded::starter_loop_json
                                      : embedded::starter_tank_json);
        status = done ? kPass : kNoOutput;
    });
}

}  // namespace coldtank::cli
