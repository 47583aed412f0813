#include "core/propose/heads.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace boltwalk {

namespace {

/// Widths across flats that a hand tool turns, metres: M1.6's 3.2 mm and M64's 95 mm, with some room.
constexpr double least_flats = 0.003, most_flats = 0.1;
/// Keys begin smaller: M3 has 2 mm.
constexpr double least_key = 0.0012;
/// A hexagon lower than this share of its width is no head: a flange, a cover.
constexpr double least_height = 0.1;
/// A round wider than the hexagon's corners by this factor is a flange (EN 1662 M8: 17 mm over 15).
constexpr double flange_share = 1.04;
/// Shank to width across flats: M3 0.545, M14 0.667, a shank drawn at its core diameter 0.83 of that.
/// A plug's may be wider than its hexagon.
constexpr double least_shank = 0.38, most_shank = 1.4;
/// What is wider than the shank by this factor belongs to the head.
constexpr double head_share = 1.22;
/// A key this much too small for its shank closes a hole and holds nothing: a plug.
constexpr double plug_share = 1.35;

bool outside_round(const Band& b) {
    return !b.inward && b.round() && std::abs(b.tilt) < 0.1;
}

const Band* largest(const TurnedShape& t, bool (*wanted)(const Band&)) {
    const auto it = std::find_if(t.bands.begin(), t.bands.end(), wanted);
    return it == t.bands.end() ? nullptr : &*it;
}

/// The axis and everything along it the other way round.
void turn_over(TurnedShape& t) {
    t.axis = -t.axis;
    std::swap(t.low, t.high);
    t.low = -t.low;
    t.high = -t.high;
    for (Band& b : t.bands) {
        std::swap(b.low, b.high);
        b.low = -b.low;
        b.high = -b.high;
        b.tilt = -b.tilt;
    }
}

/// A copy's band, by its place among the original's.
const Band& same_band(const TurnedShape& copy, const TurnedShape& original, const Band& band) {
    return copy.bands[static_cast<std::size_t>(&band - original.bands.data())];
}

/// Lengthwise cylinders thinner than `below`, by how far they reach past [low, high]: the shank, if any.
const Band* shank_of(const TurnedShape& t, double below, double low, double high, double least) {
    const Band* best = nullptr;
    double reach = least;
    for (const Band& b : t.bands) {
        if (!outside_round(b) || b.outer > below)
            continue;
        const double past = std::max(low - b.low, b.high - high);
        if (past > reach * (1 + 1e-6)) {
            reach = past;
            best = &b;
        }
    }
    return best;
}

/// Where the head ends towards the shank: the lowest of what is clearly wider than the shank.
double bearing_of(const TurnedShape& t, double shank) {
    double base = t.high;
    for (const Band& b : t.bands)
        if (!b.inward && b.outer > head_share * shank)
            base = std::min(base, b.low);
    return base;
}

double widest_above(const TurnedShape& t, double base) {
    double widest = 0;
    for (const Band& b : t.bands)
        if (!b.inward && b.high > base + 1e-6)
            widest = std::max(widest, b.outer);
    return widest;
}

void take_shank(LikelyFastener& found, const Band& shank) {
    found.shank = shank.outer;
    // The thickest of what is thinner than the head, where shank and thread differ: that is the nominal one.
    for (const Band& b : found.shape.bands)
        if (outside_round(b) && b.outer > found.shank && b.outer < head_share * shank.outer && b.low < shank.high &&
            b.high - b.low > shank.outer)
            found.shank = b.outer;
    found.base = bearing_of(found.shape, found.shank);
    found.tip = found.shape.low;
    found.top = found.shape.high;
    found.way_known = true;
    found.head = widest_above(found.shape, found.base);
    found.proposal.length_mm = (found.base - found.tip) * mm_per_m;
    found.proposal.shank_mm = 2 * found.shank * mm_per_m;
}

std::optional<LikelyFastener> with_flats(const TurnedShape& t, const Band& hexagon) {
    const double flats = 2 * hexagon.inner;
    if (flats < least_flats || flats > most_flats || hexagon.high - hexagon.low < least_height * flats)
        return std::nullopt;
    LikelyFastener found;
    found.shape = t;
    found.proposal.flats_mm = flats * mm_per_m;
    const Band* shank = shank_of(t, 0.99 * hexagon.inner, hexagon.low, hexagon.high, 0.12 * flats);
    const bool collar_only = shank && std::max(hexagon.low - shank->low, shank->high - hexagon.high) < 0.35 * flats;
    const Band* hole = nullptr;
    for (const Band& b : t.bands)
        if (b.inward && b.round() && std::abs(b.tilt) < 0.1 && b.outer < hexagon.inner && !hole)
            hole = &b;
    const bool slotted = std::any_of(t.bands.begin(), t.bands.end(), [](const Band& b) {
        return b.sides == 6 && std::abs(b.tilt) < 0.6 && b.outer > 1.3 * b.inner && b.inward;
    });
    if (hole && (t.open || hole->high - hole->low > 0.4 * flats) && (!shank || collar_only || t.open)) {
        if (shank && !collar_only && t.open)
            return std::nullopt; // hollow, with a long neck: a union, a sleeve
        found.form = HeadForm::nut;
        found.proposal.kind = slotted ? FastenerKind::castle_nut : FastenerKind::nut;
        found.shank = hole->outer;
        found.base = t.low;
        found.tip = t.low;
        found.top = t.high;
        found.head = t.widest;
        found.proposal.shank_mm = 2 * found.shank * mm_per_m;
        found.proposal.length_mm = (t.high - t.low) * mm_per_m;
        // A flange and slots tell which end is which; else the neighbours do.
        const Band* flange = nullptr;
        for (const Band& b : t.bands)
            if (!b.inward && b.round() && b.outer > flange_share * hexagon.outer && !flange)
                flange = &b;
        double slots = 0;
        for (const Band& b : t.bands)
            if (slotted && b.sides == 6 && std::abs(b.tilt) < 0.6 && b.inward && b.outer > 1.3 * b.inner && slots == 0)
                slots = b.low + b.high - t.low - t.high;
        if (flange || slots != 0) {
            found.way_known = true;
            const bool over = flange ? flange->low + flange->high > hexagon.low + hexagon.high : slots < 0;
            if (over) {
                turn_over(found.shape);
                found.base = found.tip = found.shape.low;
                found.top = found.shape.high;
            }
        }
        return found;
    }
    if (t.open)
        return std::nullopt;
    if (!shank || collar_only) {
        found.base = t.low;
        found.tip = t.low;
        found.top = t.high;
        found.head = t.widest;
        return found; // a head alone
    }
    if (2 * shank->outer < least_shank * flats || 2 * shank->outer > most_shank * flats)
        return std::nullopt;
    if (shank->high - hexagon.high > hexagon.low - shank->low)
        turn_over(found.shape);
    take_shank(found, same_band(found.shape, t, *shank));
    found.proposal.head = found.head > flange_share * hexagon.outer ? "hex_flange" : "hex";
    return found;
}

std::optional<LikelyFastener> with_socket(const TurnedShape& t, const Band& socket) {
    const double key = 2 * socket.inner;
    if (key < least_key || key > 0.05 || t.open || socket.high - socket.low < 0.15 * key)
        return std::nullopt;
    LikelyFastener found;
    found.shape = t;
    if (socket.low - t.low < t.high - socket.high)
        turn_over(found.shape);
    TurnedShape& shape = found.shape;
    found.proposal.flats_mm = key * mm_per_m;
    const Band* widest = nullptr;
    for (const Band& b : shape.bands)
        if (!b.inward && b.round() && (!widest || b.outer > widest->outer))
            widest = &b;
    if (!widest || widest->outer < 1.15 * socket.inner)
        return std::nullopt;
    const Band* shank = nullptr;
    for (const Band& b : shape.bands)
        if (outside_round(b) && b.outer < 0.92 * widest->outer && b.low < widest->low &&
            (!shank || b.high - b.low > shank->high - shank->low))
            shank = &b;
    if (!shank) {
        found.way_known = true;
        found.base = found.top = shape.high;
        found.tip = shape.low;
        found.shank = found.head = widest->outer;
        found.proposal.head = "none";
        found.proposal.shank_mm = 2 * found.shank * mm_per_m;
        found.proposal.length_mm = (shape.high - shape.low) * mm_per_m;
        return found;
    }
    take_shank(found, *shank);
    double cylinder = 0;
    double cone = 0;
    for (const Band& b : shape.bands) {
        if (b.inward || !b.round() || b.outer < 1.1 * found.shank)
            continue;
        cylinder += std::abs(b.tilt) < 0.1 ? b.area : 0;
        cone += b.tilt < -0.4 ? b.area : 0;
    }
    if (cone > cylinder) {
        found.proposal.head = "countersunk";
        found.base = found.top;
        found.proposal.length_mm = (found.top - found.tip) * mm_per_m;
    } else {
        // ISO 4762: the head as high as the shank is thick; ISO 7380-1: half of it.
        found.proposal.head = found.top - found.base > 1.4 * found.shank ? "cap" : "button";
    }
    return found;
}

std::optional<LikelyFastener> without_drive(const TurnedShape& t) {
    if (t.odd_share > 0.05)
        return std::nullopt;
    LikelyFastener found;
    found.shape = t;
    found.base = found.tip = t.low;
    found.top = t.high;
    found.head = t.widest;
    if (2 * t.widest > most_flats || t.widest < 0.001)
        return std::nullopt;
    if (t.open) {
        for (const Band& b : t.bands)
            if (b.inward && b.round() && std::abs(b.tilt) < 0.1 && b.high - b.low > 0.7 * (t.high - t.low)) {
                found.form = HeadForm::ring;
                found.shank = b.outer;
                found.proposal.shank_mm = 2 * b.outer * mm_per_m;
                found.proposal.length_mm = (t.high - t.low) * mm_per_m;
                const bool flat = t.high - t.low < 0.35 * t.widest;
                found.proposal.kind = flat ? FastenerKind::washer : FastenerKind::spacer;
                return found;
            }
        return std::nullopt;
    }
    if (std::any_of(t.bands.begin(), t.bands.end(), [](const Band& b) { return b.inward; }))
        return std::nullopt;
    const Band* main = largest(t, outside_round);
    if (!main)
        return std::nullopt;
    const double length = t.high - t.low;
    if (t.widest < 1.15 * main->outer) {
        if (length < 2.4 * t.widest)
            return std::nullopt;
        found.form = HeadForm::rod;
        found.proposal.kind = FastenerKind::stud;
        found.proposal.head = "none";
        found.shank = t.widest;
        found.proposal.shank_mm = 2 * t.widest * mm_per_m;
        found.proposal.length_mm = length * mm_per_m;
        return found;
    }
    const Band* shank = shank_of(t, 0.85 * t.widest, t.high, t.low, 0.8 * t.widest);
    if (!shank || t.widest > 2.6 * shank->outer || length > 24 * shank->outer)
        return std::nullopt;
    if (shank->low + shank->high > t.low + t.high)
        turn_over(found.shape);
    take_shank(found, same_band(found.shape, t, *shank));
    if (found.top - found.base > 2.6 * found.shank || found.proposal.length_mm < found.proposal.shank_mm)
        return std::nullopt;
    found.form = HeadForm::pushed;
    found.proposal.kind = FastenerKind::screw;
    return found;
}

} // namespace

std::optional<LikelyFastener> find_form(const TurnedShape& t) {
    const Band* hexagon = largest(t, [](const Band& b) { return b.flats() && !b.inward; });
    const Band* socket = largest(t, [](const Band& b) { return b.flats() && b.inward; });
    std::optional<LikelyFastener> found;
    if (hexagon && hexagon->outer > 0.5 * t.widest)
        found = with_flats(t, *hexagon);
    else if (socket)
        found = with_socket(t, *socket);
    else
        found = without_drive(t);
    if (found) {
        found->proposal.axis = found->shape.axis;
        found->proposal.across_mm = 2 * found->head * mm_per_m;
        found->proposal.base = found->shape.centre + found->base * found->shape.axis;
    }
    return found;
}

void judge_sizes(LikelyFastener& found) {
    Proposal& p = found.proposal;
    const auto say = [&](std::string text) { p.why.push_back(std::move(text)); };
    const auto figure = [](double value) { return fmt::format("{:.2f} mm", value); };
    if (p.flats_mm <= 0) {
        p.sureness = Sureness::perhaps;
        say(fmt::format("{} across, {} {}, {} long; no drive is modelled", figure(p.across_mm), figure(p.shank_mm),
                        found.form == HeadForm::ring ? "hole" : "shank", figure(p.length_mm)));
        return;
    }
    const bool socket = p.head == "cap" || p.head == "button" || p.head == "countersunk" || p.head == "none";
    const DriveKind kind = socket ? DriveKind::socket : DriveKind::hex;
    say(fmt::format("{} {} across flats", socket ? "a hexagon socket" : "a hexagon", figure(p.flats_mm)));
    if (p.shank_mm > 0)
        say(fmt::format("{} {}, {} {}", found.form == HeadForm::nut ? "hole" : "shank", figure(p.shank_mm),
                        found.form == HeadForm::nut ? "height" : "length", figure(p.length_mm)));
    else
        say("no shank is modelled: its length is not stated");
    p.sold = sizes_sold_with(kind, p.flats_mm, p.kind == FastenerKind::castle_nut);
    // A key goes by its head: a cap screw's is another thread's than a button head's.
    std::erase_if(p.sold, [&](const SizeSold& one) {
        const auto thread = read_thread(one.size);
        return socket && thread && is_sold(*thread, one.drive, FastenerForm::bolt, p.head, nullptr) != Sold::listed;
    });
    if (p.sold.empty()) {
        p.drive = Drive{kind, std::round(p.flats_mm * 10) / 10,
                        fmt::format("{} {}", socket ? "socket" : "hex", print_number(p.flats_mm, 1))};
        p.sureness = Sureness::looks_like;
        say("no series known here has that width");
        return;
    }
    p.drive = p.sold.front().drive;
    const double size = p.drive->size;
    std::erase_if(p.sold, [&](const SizeSold& one) { return std::abs(one.drive.size - size) > 0.005; });
    const double thickest = std::max_element(p.sold.begin(), p.sold.end(), [](const SizeSold& a, const SizeSold& b) {
                                return a.diameter_mm < b.diameter_mm;
                            })->diameter_mm;
    p.sureness = Sureness::fits_table;
    if (p.shank_mm <= 0)
        return;
    if (p.shank_mm > plug_share * thickest && found.form == HeadForm::headed) {
        p.kind = FastenerKind::plug;
        p.sold.clear();
        p.sureness = Sureness::looks_like;
        say("its thread is far larger than what such a key is sold with: a plug closes a hole like that");
        return;
    }
    // Threads are drawn at their nominal diameter, or at their core's: 0.8 to 0.87 of it.
    std::erase_if(p.sold, [&](const SizeSold& one) {
        return p.shank_mm < 0.78 * one.diameter_mm || p.shank_mm > 1.03 * one.diameter_mm;
    });
    std::stable_sort(p.sold.begin(), p.sold.end(), [&](const SizeSold& a, const SizeSold& b) {
        return std::abs(a.diameter_mm - p.shank_mm) < std::abs(b.diameter_mm - p.shank_mm) - 1e-6;
    });
    if (p.sold.empty()) {
        p.sureness = Sureness::looks_like;
        say(fmt::format("no series known here sells {} on such a {}", p.drive->name,
                        found.form == HeadForm::nut ? "hole" : "shank"));
        return;
    }
    std::string list;
    for (const SizeSold& one : p.sold)
        list += fmt::format("{}{} ({}{})", list.empty() ? "" : ", ", one.size, one.series,
                            one.from_memory ? ", from memory" : "");
    say(fmt::format("{} is sold on {}; the pitch cannot be measured", p.drive->name, list));
}

} // namespace boltwalk
