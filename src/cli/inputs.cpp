#include <fmt/format.h>

#include <cstdio>

#include "../io/report.hpp"
#include "../io/text.hpp"
#include "commands.hpp"

namespace coldtank::cli {

int read_species(const std::string& path, io::SpeciesBook& book) {
    if (path.empty()) return 0;
    io::SpeciesFile file = io::read_species_file(path);
    std::fputs(io::errors_as_text(file.errors).c_str(), stderr);
    if (file.unreadable) return kNoInput;
    if (!file.errors.empty()) return kData;
    book = std::move(file.book);
    return 0;
}

int read_descriptions(const Inputs& inputs, const io::SpeciesBook& book,
                      std::vector<io::ReadResult>& read) {
    for (const std::string& file : inputs.files) {
        for (io::ReadResult& one : io::read_file(file, book, inputs.one_a_line)) {
            read.push_back(std::move(one));
        }
    }
    if (inputs.tank.empty() || io::keep_tank_in_all(read, inputs.tank)) return 0;
    fmt::print(stderr, "coldtank: no tank is named \"{}\"\n", io::printable(inputs.tank));
    return kUsage;
}

}  // namespace coldtank::cli
