#include <algorithm>
#include <atomic>
#include <thread>

#include "core/geometry/solids.hpp"

namespace boltwalk {

bool in_parallel(std::size_t count, const Effort& effort, const std::function<void(std::size_t)>& work) {
    std::size_t threads =
        effort.threads > 0 ? static_cast<std::size_t>(effort.threads) : std::thread::hardware_concurrency();
#ifdef __EMSCRIPTEN__
    threads = 1;
#endif
    threads = std::clamp<std::size_t>(threads, 1, std::max<std::size_t>(count, 1));
    std::atomic<std::size_t> next{0};
    std::atomic<bool> stop{false};
    const auto run = [&](bool tells) {
        for (std::size_t i = next++; i < count && !stop; i = next++) {
            work(i);
            if (tells && effort.progress && !effort.progress(static_cast<float>(i + 1) / static_cast<float>(count)))
                stop = true;
        }
    };
    std::vector<std::thread> others;
    for (std::size_t t = 1; t < threads; ++t)
        others.emplace_back(run, false);
    run(true);
    for (std::thread& other : others)
        other.join();
    return !stop;
}

} // namespace boltwalk
