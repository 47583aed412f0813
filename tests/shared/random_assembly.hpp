// Random assemblies, the same on every machine: a counter-based generator of our own (splitmix64), no std distribution.
#pragma once

#include <cstdint>
#include <string>

#include "tests/shared/build.hpp"

namespace boltwalk::testing {

/// Drawn by number, where the dice of shapes.hpp give lengths.
class Lots {
public:
    explicit Lots(std::uint64_t seed) : state_(seed) {}
    std::uint64_t next() {
        state_ += 0x9e3779b97f4a7c15U;
        std::uint64_t z = state_;
        z = (z ^ (z >> 30U)) * 0xbf58476d1ce4e5b9U;
        z = (z ^ (z >> 27U)) * 0x94d049bb133111ebU;
        return z ^ (z >> 31U);
    }
    /// From 0 to count - 1.
    int below(int count) { return static_cast<int>(next() % static_cast<std::uint64_t>(count)); }
    bool chance(int percent) { return below(100) < percent; }

private:
    std::uint64_t state_;
};

struct RandomSettings {
    int parts = 8;             ///< besides the body
    int after_percent = 30;    ///< chance of an `after` on each item
    bool nested = false;       ///< parts bolted to parts; otherwise all to the body
    bool forward_only = false; ///< `after` names only later items of the file, so that there is no cycle
};

/// Parts p0.. bolted by one to three fasteners each, some with a pin, with random `after` between any of them.
inline Build random_assembly(std::uint64_t seed, const RandomSettings& settings) {
    Lots dice(seed);
    Build b;
    b.part("body", true);
    std::vector<std::string> movable;
    int fasteners = 0;
    for (int p = 0; p < settings.parts; ++p) {
        const std::string part = "p" + std::to_string(p);
        b.part(part);
        movable.push_back(part);
        const int bolts = 1 + dice.below(3);
        for (int i = 0; i < bolts; ++i) {
            const std::string bolt = "f" + std::to_string(fasteners++);
            std::string to = "body";
            if (settings.nested && p > 0 && dice.chance(60))
                to = "p" + std::to_string(dice.below(p));
            b.fastener(bolt, {part.c_str(), to.c_str()});
            b[bolt].from = static_cast<Place>(1 + dice.below(4));
            movable.push_back(bolt);
            if (dice.chance(20)) {
                const std::string pin = "pin" + std::to_string(fasteners);
                b.fastener(pin, {}, FastenerKind::split_pin).secures = {b.at(bolt)};
                movable.push_back(pin);
            }
        }
    }
    const int count = static_cast<int>(movable.size());
    for (int i = 0; i < count; ++i)
        if (dice.chance(settings.after_percent)) {
            const int other =
                settings.forward_only ? (i + 1 < count ? i + 1 + dice.below(count - i - 1) : i) : dice.below(count);
            if (other != i)
                b.after(movable[static_cast<std::size_t>(i)], {movable[static_cast<std::size_t>(other)].c_str()});
        }
    return b;
}

} // namespace boltwalk::testing
