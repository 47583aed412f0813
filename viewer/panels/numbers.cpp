#include "viewer/panels/numbers.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace boltwalk {

namespace {

constexpr std::array<glm::dvec2, 8> SIDES{
    {{0.71, -0.71}, {-0.71, -0.71}, {0.71, 0.71}, {-0.71, 0.71}, {1, 0}, {-1, 0}, {0, -1}, {0, 1}}};
constexpr double NEAREST = 1.05, FARTHEST = 5, FARTHER = 0.7; ///< places tried, from a head's middle in its sizes
constexpr double CROWDED_RADII = 0.1;                         ///< at rest, where there is no place freer than that
constexpr double FADE_RADII = 0.6;                            ///< nearer than that to anything a number fades

/// From the picture's rim.
double inset(glm::dvec2 at, glm::dvec2 size_px) {
    return std::min({at.x, at.y, size_px.x - at.x, size_px.y - at.y});
}

/// What is left between a number and what it must not touch; the picture's rim too, for it and for its head.
double clearance(const StepNumber& one, glm::dvec2 at, std::span<const StepNumber> heads,
                 std::span<const StepNumber> kept, glm::dvec2 size_px) {
    double least = std::min(inset(at, size_px) - one.radius, inset(one.head, size_px));
    for (const StepNumber& other : kept)
        if (other.tick.item != one.tick.item)
            least = std::min(least, glm::length(other.at - at) - 2 * one.radius);
    for (const StepNumber& other : heads)
        if (other.tick.item != one.tick.item)
            least = std::min(least, glm::length(other.head - at) - one.radius - other.head_px);
    return least;
}

glm::dvec2 beside(const StepNumber& one, glm::dvec2 side) {
    return one.head + side * (one.head_px + one.radius);
}

} // namespace

std::vector<StepNumber> move_numbers(std::span<const StepNumber> heads, std::span<const StepNumber> before,
                                     glm::dvec2 size_px, bool rests, double seconds) {
    std::vector<StepNumber> kept;
    std::vector<StepNumber> without;
    for (StepNumber one : heads) {
        const auto was = std::find_if(before.begin(), before.end(),
                                      [&](const StepNumber& other) { return other.tick.item == one.tick.item; });
        if (was == before.end() || was->away_s > 0) {
            one.away_s = was == before.end() ? 0 : was->away_s - seconds;
            without.push_back(one);
            continue;
        }
        one.side = was->side;
        one.at = beside(one, one.side);
        one.crowded = was->crowded && rests;
        const double share = one.crowded ? 1 : clearance(one, one.at, heads, kept, size_px) / (FADE_RADII * one.radius);
        // Half faded it does not stay when the picture rests, and without room not once it turns.
        one.leaving = was->leaving || (was->crowded && !rests) || (rests && share < 1);
        one.strength =
            one.leaving ? was->strength - seconds / FADE_OUT_S : std::min(1.0, was->strength + seconds / FADE_IN_S);
        // One that leaves for want of room may do so over what it touches.
        one.opacity = std::min(one.strength, was->crowded ? 1.0 : share);
        if (one.strength <= 0 || one.opacity <= 0) {
            one.away_s = one.leaving ? 0 : AWAY_S;
            without.push_back(one);
            continue;
        }
        kept.push_back(one);
    }
    std::vector<StepNumber> waiting;
    for (StepNumber one : without) {
        one.strength = one.opacity = 0;
        one.leaving = one.crowded = false;
        bool found = false;
        const auto find = [&](double least) {
            for (double far = NEAREST; far < FARTHEST && !found; far += FARTHER)
                for (const glm::dvec2& side : SIDES) {
                    one.side = side * far;
                    one.at = beside(one, one.side);
                    found = clearance(one, one.at, heads, kept, size_px) >= least;
                    if (found)
                        break;
                }
        };
        if (one.away_s <= 0)
            find(FADE_RADII * one.radius);
        if (one.away_s <= 0 && !found && rests) { // narrow, or over another: better there than nowhere
            one.crowded = true;
            find(CROWDED_RADII * one.radius);
            if (!found) {
                one.side = SIDES[0];
                one.at = beside(one, one.side);
                found = true;
            }
        }
        one.away_s = found ? 0 : std::max(one.away_s, 1e-3);
        (found ? kept : waiting).push_back(one);
    }
    kept.insert(kept.end(), waiting.begin(), waiting.end());
    return kept;
}

bool are_fading(std::span<const StepNumber> numbers) {
    return std::any_of(numbers.begin(), numbers.end(),
                       [](const StepNumber& one) { return one.leaving || one.away_s > 0 || one.strength < 1; });
}

std::vector<Rect> number_boxes(const std::vector<StepNumber>& numbers, float density) {
    std::vector<Rect> boxes;
    boxes.reserve(numbers.size());
    const double d = double(density);
    for (const StepNumber& one : numbers)
        if (one.away_s <= 0)
            boxes.push_back(
                {(one.at.x - one.radius) * d, (one.at.y - one.radius) * d, 2 * one.radius * d, 2 * one.radius * d});
    return boxes;
}

ItemId number_under(const std::vector<StepNumber>& numbers, glm::dvec2 px) {
    for (const StepNumber& one : numbers)
        if (one.opacity > 0 && glm::length(one.at - px) <= one.radius * 1.2)
            return one.tick.item;
    return {};
}

} // namespace boltwalk
