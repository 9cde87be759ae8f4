// Reads descriptions, one a line, and says how long that takes against a pure parse of the same
// lines: seconds of both, the least of five turns.
//     bench_probe FILE
#include <chrono>
#include <cstdio>
#include <fstream>
#include <limits>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "read/description.hpp"

namespace {

template <class Work>
double seconds(Work work) {
    const auto start = std::chrono::steady_clock::now();
    work();
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

}  // namespace

int main(int argc, char** argv) {
    if (argc != 2) return 64;
    std::ifstream file(argv[1]);
    std::vector<std::string> lines;
    for (std::string line; std::getline(file, line);) lines.push_back(line);
    const coldtank::io::SpeciesBook book;
    double reading = std::numeric_limits<double>::infinity();
    double accepting = reading;
    std::size_t sound = 0;
    for (int turn = 0; turn < 5; ++turn) {
        accepting = std::min(accepting, seconds([&] {
                                 for (const std::string& line : lines) {
                                     sound += nlohmann::json::accept(line) ? 1 : 0;
                                 }
                             }));
        reading = std::min(
            reading, seconds([&] {
                for (const std::string& line : lines) {
                    sound += coldtank::io::read_description(line, "-", book).errors.empty() ? 1 : 0;
                }
            }));
    }
    std::printf("%.6f %.6f\n", reading, accepting);
    return lines.empty() || sound != 10 * lines.size() ? 1 : 0;
}
