// In which order the bolts of one joint are tightened, from where they are. Nothing here but sums, products and square
// roots decides, so that every machine gives the same order.
#include <algorithm>
#include <cmath>
#include <numeric>

#include "core/standards/standards.hpp"

namespace boltwalk {

namespace {

/// Two bolts nearer than this are at one place: no bolt is so thin.
constexpr double apart_mm = 0.5;
/// More than any joint has; what comes next is sought among all that are left, so that much more would take long.
constexpr std::size_t most_in_a_joint = 256;
/// Nor is any joint so large; sums of squares are far from their limits here.
constexpr double too_far_mm = 1e6;
/// Distances that differ by less are equal: modelled places are no more exact.
constexpr double equal_mm = 1.0;
/// How far a bolt may lie off the circle, as a share of its radius: more than a modelled flange is off, less than the
/// corners of a plate are from its sides.
constexpr double off_circle = 0.05;
/// A row: its width against its length, both as root mean squares.
constexpr double row_width = 0.1;
/// An opposite pair is at least this far from being beside one another: the cosine of 120 degrees.
constexpr double opposite = -0.5;

struct Flat {
    double x = 0, y = 0;
};

double dot(const BoltPlace& a, const BoltPlace& b) {
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

double distance(const BoltPlace& a, const BoltPlace& b) {
    const BoltPlace d{a[0] - b[0], a[1] - b[1], a[2] - b[2]};
    return std::sqrt(dot(d, d));
}

double cross(const Flat& a, const Flat& b) {
    return a.x * b.y - a.y * b.x;
}

BoltPlace middle_of(std::span<const BoltPlace> places) {
    BoltPlace middle{};
    for (const BoltPlace& place : places)
        for (std::size_t k = 0; k < 3; ++k)
            middle[k] += place[k] / static_cast<double>(places.size());
    return middle;
}

/// In the plane square to the axis, about `middle`; x towards some place off the middle, counter-clockwise as seen onto
/// the heads. Empty when the axis is none.
std::vector<Flat> flat_of(std::span<const BoltPlace> places, const BoltPlace& axis, const BoltPlace& middle) {
    const double length = std::sqrt(dot(axis, axis));
    if (!(length > 0))
        return {};
    const BoltPlace n{axis[0] / length, axis[1] / length, axis[2] / length};
    // Whichever of the model's axes is farthest from n gives the plane's own.
    std::size_t least = 0;
    for (std::size_t k = 1; k < 3; ++k)
        if (std::fabs(n[k]) < std::fabs(n[least]))
            least = k;
    BoltPlace u{-n[0] * n[least], -n[1] * n[least], -n[2] * n[least]};
    u[least] += 1;
    const double across = std::sqrt(dot(u, u));
    for (double& one : u)
        one /= across;
    const BoltPlace v{n[1] * u[2] - n[2] * u[1], n[2] * u[0] - n[0] * u[2], n[0] * u[1] - n[1] * u[0]};
    std::vector<Flat> flat;
    for (const BoltPlace& place : places) {
        const BoltPlace from{place[0] - middle[0], place[1] - middle[1], place[2] - middle[2]};
        flat.push_back({dot(from, u), dot(from, v)});
    }
    return flat;
}

enum class Lie : std::uint8_t { row, circle, plate };

/// How they lie; of a circle, the places as seen from its centre (Kasa's least-squares circle).
Lie lie_of(std::vector<Flat>& flat) {
    double xx = 0, yy = 0, xy = 0, x_rr = 0, y_rr = 0;
    for (const Flat& p : flat) {
        const double rr = p.x * p.x + p.y * p.y;
        xx += p.x * p.x;
        yy += p.y * p.y;
        xy += p.x * p.y;
        x_rr += p.x * rr;
        y_rr += p.y * rr;
    }
    const double det = xx * yy - xy * xy;
    if (!(det > row_width * row_width * (xx + yy) * (xx + yy)))
        return Lie::row;
    const Flat centre{(x_rr * yy - y_rr * xy) / (2 * det), (y_rr * xx - x_rr * xy) / (2 * det)};
    const double radius =
        std::sqrt(centre.x * centre.x + centre.y * centre.y + (xx + yy) / static_cast<double>(flat.size()));
    std::vector<Flat> seen;
    for (const Flat& p : flat) {
        seen.push_back({p.x - centre.x, p.y - centre.y});
        const double r = std::sqrt(seen.back().x * seen.back().x + seen.back().y * seen.back().y);
        if (std::fabs(r - radius) > std::max(equal_mm, off_circle * radius))
            return Lie::plate;
    }
    flat = std::move(seen);
    return Lie::circle;
}

/// Clockwise as seen onto the heads, the first one listed first; empty where half the circle has none, for then they
/// lie on an arc.
std::vector<std::size_t> clockwise(const std::vector<Flat>& flat) {
    std::vector<std::size_t> order(flat.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    const auto lower = [&](std::size_t i) { return flat[i].y < 0 || (flat[i].y == 0 && flat[i].x < 0); };
    std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        if (lower(a) != lower(b))
            return lower(b);
        const double turn = cross(flat[a], flat[b]);
        return turn != 0 ? turn > 0 : a < b;
    });
    for (std::size_t i = 0; i < order.size(); ++i)
        if (!(cross(flat[order[i]], flat[order[(i + 1) % order.size()]]) > 0))
            return {};
    std::reverse(order.begin(), order.end());
    std::rotate(order.begin(), std::find(order.begin(), order.end(), std::size_t{0}), order.end());
    return order;
}

bool pairs_are_opposite(const std::vector<Flat>& flat, const std::vector<std::size_t>& round) {
    const std::size_t half = round.size() / 2;
    for (std::size_t i = 0; i < half; ++i) {
        const Flat a = flat[round[i]], b = flat[round[i + half]];
        const double lengths = std::sqrt((a.x * a.x + a.y * a.y) * (b.x * b.x + b.y * b.y));
        if (a.x * b.x + a.y * b.y > opposite * lengths)
            return false;
    }
    return true;
}

/// The one of `left` whose `value` is largest; of those that are as large, whose `second` is, then the first listed.
template <typename Value, typename Second>
std::size_t pick(const std::vector<std::size_t>& left, const Value& value, const Second& second) {
    double most = value(left.front());
    for (const std::size_t i : left)
        most = std::max(most, value(i));
    std::size_t best = left.size();
    for (std::size_t k = 0; k < left.size(); ++k)
        if (value(left[k]) >= most - equal_mm &&
            (best == left.size() || second(left[k]) > second(left[best]) + equal_mm))
            best = k;
    return best < left.size() ? best : 0; // values that are no numbers: the first
}

TighteningOrder crosswise(std::span<const BoltPlace> places) {
    TighteningOrder made{Pattern::crosswise, {0}};
    std::vector<std::size_t> left(places.size() - 1);
    std::iota(left.begin(), left.end(), std::size_t{1});
    while (!left.empty()) {
        const BoltPlace& last = places[made.order.back()];
        const auto from_last = [&](std::size_t i) { return distance(places[i], last); };
        const auto alike = [](std::size_t) { return 0.0; };
        const std::size_t next = pick(left, from_last, alike);
        made.order.push_back(left[next]);
        left.erase(left.begin() + static_cast<std::ptrdiff_t>(next));
    }
    return made;
}

TighteningOrder centre_out(std::span<const BoltPlace> places) {
    const BoltPlace middle = middle_of(places);
    TighteningOrder made{Pattern::centre_out, {}};
    std::vector<std::size_t> left(places.size());
    std::iota(left.begin(), left.end(), std::size_t{0});
    while (!left.empty()) {
        const std::size_t next = pick(
            left, [&](std::size_t i) { return -distance(places[i], middle); },
            [&](std::size_t i) { return made.order.empty() ? 0.0 : distance(places[i], places[made.order.back()]); });
        made.order.push_back(left[next]);
        left.erase(left.begin() + static_cast<std::ptrdiff_t>(next));
    }
    return made;
}

bool all_apart(std::span<const BoltPlace> places) {
    for (std::size_t i = 0; i < places.size(); ++i)
        for (std::size_t k = i + 1; k < places.size(); ++k)
            if (const double d = distance(places[i], places[k]); !(d >= apart_mm && d <= too_far_mm))
                return false;
    return true;
}

TighteningOrder listed(std::size_t count) {
    TighteningOrder made{count == 1 ? Pattern::one : count == 2 ? Pattern::two : Pattern::listed, {}};
    made.order.resize(count);
    std::iota(made.order.begin(), made.order.end(), std::size_t{0});
    return made;
}

} // namespace

std::vector<std::size_t> star_sequence(std::size_t count) {
    // Opposite pairs; the next pair a quarter on. Quarters are gone through by half of what is left, one on where that
    // one is taken: so the published sequences of 4 to 24 go (PCC-1's older table, from memory; a gasket maker's text
    // and a works' drawing for 8).
    const std::size_t half = count / 2;
    std::vector<std::size_t> starts, order;
    const bool quarters = half % 2 == 0;
    const std::size_t steps = quarters ? half / 2 : half;
    const std::size_t stride = quarters ? std::max<std::size_t>(1, steps / 2) : (half + 1) / 2;
    std::vector<std::uint8_t> taken(steps, 0);
    for (std::size_t i = 0, at = 0; i < steps; ++i, at = (at + stride) % steps) {
        while (taken[at] != 0)
            at = (at + 1) % steps;
        taken[at] = 1;
        starts.push_back(at);
        if (quarters)
            starts.push_back(at + steps);
    }
    for (const std::size_t start : starts) {
        order.push_back(start);
        order.push_back(start + half);
    }
    return order;
}

TighteningOrder tightening_order(std::span<const BoltPlace> places_mm, const BoltPlace& axis) {
    return tightening_order(Pattern::star, places_mm, axis);
}

TighteningOrder tightening_order(Pattern asked, std::span<const BoltPlace> places_mm, const BoltPlace& axis) {
    const std::size_t count = places_mm.size();
    if (count > most_in_a_joint) {
        TighteningOrder made = listed(count);
        made.pattern = Pattern::too_many;
        return made;
    }
    if (count < 3 || !all_apart(places_mm))
        return listed(count);
    if (asked == Pattern::centre_out)
        return centre_out(places_mm);
    std::vector<Flat> flat = flat_of(places_mm, axis, middle_of(places_mm));
    if (flat.empty() || lie_of(flat) != Lie::circle)
        return centre_out(places_mm);
    const std::vector<std::size_t> round = clockwise(flat);
    if (round.empty())
        return centre_out(places_mm);
    if (asked == Pattern::round)
        return {Pattern::round, round};
    TighteningOrder made;
    if (count % 2 != 0) {
        made.pattern = Pattern::every_second;
        for (std::size_t i = 0; i < count; ++i)
            made.order.push_back(round[2 * i % count]);
        return made;
    }
    if (!pairs_are_opposite(flat, round))
        return crosswise(places_mm);
    made.pattern = Pattern::star;
    for (const std::size_t i : star_sequence(count))
        made.order.push_back(round[i]);
    return made;
}

std::string_view name_of(Pattern pattern) {
    switch (pattern) {
    case Pattern::one:
        return "a single one";
    case Pattern::two:
        return "turn about";
    case Pattern::star:
        return "star: opposite pairs, each pair a quarter on";
    case Pattern::every_second:
        return "every second one round the circle";
    case Pattern::crosswise:
        return "crosswise: the next is the farthest from the last";
    case Pattern::centre_out:
        return "from the centre outwards";
    case Pattern::round:
        return "once round";
    case Pattern::listed:
        return "as listed: where they are says nothing";
    case Pattern::too_many:
        return "as listed: more than 256 are not put in an order";
    }
    return "";
}

std::string_view source_of(Pattern pattern) {
    return pattern == Pattern::star ? "as the published sequences of 4, 8 and 12 bolts go"
                                    : "common practice, no source";
}

PassShares pass_shares(int passes) {
    if (passes == 3) // two suppliers' pages and a gasket maker's: 30, 60, 100 %, then once round
        return {{30, 60, 100}, true};
    PassShares shares;
    for (int pass = 1; pass <= passes; ++pass)
        shares.percent.push_back(100.0 * pass / passes);
    return shares;
}

} // namespace boltwalk
