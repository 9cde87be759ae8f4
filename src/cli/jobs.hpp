// Work that is independent, on several processors.
#pragma once

#include <atomic>
#include <cstddef>
#include <exception>
#include <thread>
#include <vector>

namespace coldtank::cli {

// Calls work(0 .. count - 1), each once, on so many threads. What one of them throws, the first in
// order, is thrown when all are done.
template <class Work>
void for_each_index(std::size_t count, std::size_t jobs, Work work) {
    std::vector<std::exception_ptr> thrown(count);
    std::atomic<std::size_t> next{0};
    const auto take = [&] {
        for (std::size_t i = next++; i < count; i = next++) {
            try {
                work(i);
            } catch (...) {
                thrown[i] = std::current_exception();
            }
        }
    };
    {
        std::vector<std::jthread> threads;
        for (std::size_t i = 1; i < jobs && i < count; ++i) threads.emplace_back(take);
        take();
    }
    for (const std::exception_ptr& each : thrown) {
        if (each) std::rethrow_exception(each);
    }
}

}  // namespace coldtank::cli
