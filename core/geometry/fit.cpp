#include "core/geometry/fit_doubts.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "core/geometry/rays.hpp"

namespace boltwalk {

namespace {

/// Rays for thread stand so far outside the nominal radius. Nearer: the facets of a round hole count as clearance;
/// farther: a fine clearance hole (ISO 273: 1.05 to 1.07 diameters) counts as thread.
constexpr double thread_circle = 1.02;
/// Rays for what is clamped: outside the coarse clearance holes of ISO 273 (up to 1.21 diameters), under every head.
constexpr double clamped_circle = 1.3;
/// What is wider than this is head, not shank.
constexpr double head_begins = 1.15;
/// Depths nearer to each other than this are one: a face that is met twice.
constexpr double one_depth_m = 0.0005;
/// A thread shorter than this is a burr or a facet.
constexpr double least_thread_m = 0.0005;
/// Steps round the axis; each has its opposite half of them on. Three in four must agree: a round hole's facets spoil a
/// few.
constexpr std::size_t spokes = 16;

/// Common practice, and the recommended lengths in two fastener catalogues (Bossard F-039, Mastik page 677, from trials
/// with M6 to M16 of property class 8.8): 1.0 diameters in steel and grey iron, 1.4 to 2.5 in aluminium by its
/// strength. A doubt is raised below the low end of practice only.
constexpr double wanted_in_metal = 1.0;
constexpr double wanted_in_aluminium = 1.5;
/// A tap leaves thread incomplete at the bottom of a blind hole (DIN 76-1, whose figures of several pitches were not
/// seen): a shank that ends nearer to it than one pitch binds before its head is down. Common practice, no source.
constexpr double room_pitches = 1.0;
/// A head that stands off farther than this does not lie on what is below it: pulled out, or drawn apart.
constexpr double seated_m = 0.001;
/// So far beside the axis, in radii, the bottom of a hole is looked for.
constexpr double beside_axis = 0.05;
/// What lies so many diameters beyond the end of the bolt, as stated and as drawn, may be another's.
constexpr double most_gap = 4;
/// Figures of a model in single precision, put together and taken apart again.
constexpr double rounding_mm = 0.05;

/// Steps round a circle: (1 - t*t, 2 t) / (1 + t*t), exact for rational t, no sine. Not quite even.
std::array<glm::dvec2, spokes> circle() {
    std::array<glm::dvec2, spokes> list;
    constexpr std::array<double, 4> t{0.1, 0.3, 0.55, 0.85};
    for (std::size_t i = 0; i < 4; ++i) {
        const double n = 1 + t[i] * t[i];
        const glm::dvec2 d((1 - t[i] * t[i]) / n, 2 * t[i] / n);
        list[i] = d;
        list[i + 4] = {-d.y, d.x};
        list[i + 8] = -d;
        list[i + 12] = {d.y, -d.x};
    }
    return list;
}

/// The fastener's own shape along its axis. Heights are measured along the axis, upwards to the head.
struct Profile {
    glm::dvec3 origin{0.0}, up{0, 1, 0}, u{1, 0, 0}, v{0, 0, 1};
    double radius = 0, seat = 0, end = 0;
    const char* missing = nullptr;
};

Profile profile_of(const Solids& solids, const Fastener& fastener, std::int32_t body, double stated_radius) {
    Profile profile;
    const Node& node = solids.map->nodes[at((*solids.map)[fastener.item].node)];
    const auto& w = node.world;
    const auto& a = fastener.axis;
    const glm::dvec3 up = glm::dvec3(w[0], w[1], w[2]) * a[0] + glm::dvec3(w[4], w[5], w[6]) * a[1] +
                          glm::dvec3(w[8], w[9], w[10]) * a[2];
    if (!(glm::length(up) > 0)) {
        profile.missing = "its node has no size along its axis";
        return profile;
    }
    profile.up = glm::normalize(up);
    const glm::dvec3 least = std::abs(profile.up.x) < 0.6 ? glm::dvec3(1, 0, 0) : glm::dvec3(0, 1, 0);
    profile.u = glm::normalize(glm::cross(profile.up, least));
    profile.v = glm::cross(profile.up, profile.u);
    // The axis runs through the middle of the surface: a node's origin may lie anywhere.
    double area = 0;
    each_triangle_of(solids, body, [&](const Triangle& t) {
        const double twice = glm::length(glm::cross(t.b - t.a, t.c - t.a));
        profile.origin += twice * (t.a + t.b + t.c) / 3.0;
        area += twice;
    });
    profile.origin /= area;
    struct Point {
        double height, radius;
    };
    std::vector<Point> points;
    double low = 1e30;
    double high = -1e30;
    each_triangle_of(solids, body, [&](const Triangle& t) {
        for (const glm::dvec3& corner : {t.a, t.b, t.c}) {
            const glm::dvec3 from = corner - profile.origin;
            const double height = glm::dot(from, profile.up);
            points.push_back({height, glm::length(from - height * profile.up)});
            low = std::min(low, height);
            high = std::max(high, height);
        }
    });
    profile.end = low;
    profile.radius = stated_radius;
    if (!(profile.radius > 0))
        for (const Point& p : points)
            if (p.height < low + 0.4 * (high - low))
                profile.radius = std::max(profile.radius, p.radius);
    double seat = high;
    bool head = false;
    for (const Point& p : points)
        if (p.radius > head_begins * profile.radius) {
            seat = std::min(seat, p.height);
            head = true;
        }
    profile.seat = seat;
    if (!head)
        profile.missing = "no head wider than the shank is modelled";
    else if (seat - low < 0.5 * profile.radius)
        profile.missing = "no shank below the head is modelled";
    return profile;
}

struct Interval {
    double top, bottom; ///< heights
};

/// Where each body is met along one line downwards.
struct Sightlines {
    const Solids& solids;
    const Profile& profile;
    std::int32_t own;

    /// Calls see(body, interval), interval by interval, bodies by index.
    template <typename See>
    void along(const glm::dvec2& off, double from, double to, std::vector<RayHit>& hits, See&& see) const {
        Ray ray;
        ray.from = profile.origin + profile.up * from + profile.u * off.x + profile.v * off.y;
        ray.along = -profile.up;
        all_hits(solids, ray, from - to, hits);
        std::erase_if(hits, [&](const RayHit& hit) { return hit.body == own; });
        std::sort(hits.begin(), hits.end(), [](const RayHit& a, const RayHit& b) {
            if (a.body != b.body)
                return a.body < b.body;
            // Leaving one shell where another begins: in between nothing opens.
            return a.distance < b.distance || (a.distance == b.distance && a.entering && !b.entering);
        });
        for (std::size_t begin = 0; begin < hits.size();) {
            std::size_t end = begin;
            int depth = 0;
            int least = 0;
            for (; end < hits.size() && hits[end].body == hits[begin].body; ++end) {
                depth += hits[end].entering ? 1 : -1;
                least = std::min(least, depth);
            }
            depth = -least; // inside of so many already where the line begins
            double top = from;
            for (std::size_t i = begin; i < end; ++i) {
                const double height = from - hits[i].distance;
                const int next = depth + (hits[i].entering ? 1 : -1);
                if (depth <= 0 && next > 0)
                    top = height;
                if (depth > 0 && next <= 0)
                    see(hits[begin].body, Interval{top, height});
                depth = next;
            }
            if (depth > 0)
                see(hits[begin].body, Interval{top, to});
            begin = end;
        }
    }
};

double median(std::vector<double> list) {
    std::sort(list.begin(), list.end());
    return list.empty() ? 0 : list[list.size() / 2];
}

/// One body round the shank: medians over the directions in which it is met at all.
struct Round {
    std::int32_t body = -1;
    std::vector<double> length, top, bottom; ///< of those directions, within the shank
    std::uint32_t met = 0;                   ///< those directions, a bit each
    bool all_round() const { return length.size() * 4 >= spokes * 3; }
    /// On opposite sides at least: a slot's, which leaves nothing along its length.
    bool astride() const { return (met & (met >> (spokes / 2))) != 0; }
};

bool names_part(const std::vector<ItemId>& held, ItemId item) {
    return std::find(held.begin(), held.end(), item) != held.end();
}

std::vector<Round> look_round(const Sightlines& lines, const std::vector<ItemId>& held, double radius, double end) {
    static const std::array<glm::dvec2, spokes> steps = circle();
    std::vector<Round> rounds;
    std::vector<RayHit> hits;
    const double seat = lines.profile.seat;
    const double reach = 4 * lines.profile.radius;
    for (std::size_t i = 0; i < steps.size(); ++i) {
        std::vector<Round> here;
        lines.along(steps[i] * radius, seat + reach, end - reach, hits, [&](std::int32_t body, const Interval& in) {
            const double top = std::min(in.top, seat);
            const double bottom = std::max(in.bottom, end);
            if (top - bottom <= 0)
                return;
            if (here.empty() || here.back().body != body)
                here.push_back({body, {0}, {top}, {bottom}, std::uint32_t{1} << i});
            here.back().length[0] += top - bottom;
            here.back().top[0] = std::max(here.back().top[0], top);
            here.back().bottom[0] = std::min(here.back().bottom[0], bottom);
        });
        for (const Round& one : here) {
            auto known = std::find_if(rounds.begin(), rounds.end(), [&](const Round& r) { return r.body == one.body; });
            if (known == rounds.end())
                known = rounds.insert(rounds.end(), Round{one.body, {}, {}, {}, 0});
            known->length.push_back(one.length[0]);
            known->top.push_back(one.top[0]);
            known->bottom.push_back(one.bottom[0]);
            known->met |= one.met;
        }
    }
    std::erase_if(rounds, [&](const Round& r) {
        const bool slotted = r.astride() && names_part(held, lines.solids.bodies[at(r.body)].item);
        return !(r.all_round() || slotted) || median(r.length) < least_thread_m;
    });
    return rounds;
}

bool is_loose(const Map& map, ItemId item) {
    if (!item || !map.is_fastener(item))
        return false;
    const FastenerKind kind = map.fastener(item).kind;
    return kind == FastenerKind::washer || kind == FastenerKind::spacer || kind == FastenerKind::shim;
}

bool is_plug(const Fastener& f) {
    return f.kind != FastenerKind::bolt && f.kind != FastenerKind::screw;
}

bool is_asked(const Fastener& f) {
    switch (f.kind) {
    case FastenerKind::bolt:
    case FastenerKind::screw:
    case FastenerKind::plug:
    case FastenerKind::drain_plug:
    case FastenerKind::fill_plug:
    case FastenerKind::level_plug:
        return true;
    default:
        return false;
    }
}

/// Heads whose length is measured from under the head (ISO 225); a countersunk screw's is measured over all.
bool measured_below_head(const Fastener& f) {
    return f.head != "countersunk" && f.head != "none";
}

void find_bottom(const Sightlines& lines, Fit& fit, double end, const Round& thread) {
    // The first face of the thread's body across the axis, from the seat down. Beside the axis, for on it the edges of
    // a fan or a square's diagonal lie, where a line may count as met twice; so near to it that the cone a drill
    // leaves adds little.
    static const std::array<glm::dvec2, spokes> steps = circle();
    std::vector<RayHit> hits;
    std::vector<double> faces;
    const double reach = 6 * lines.profile.radius;
    for (std::size_t i = 0; i < spokes; i += 2) {
        double face = -1e30;
        lines.along(steps[i] * (beside_axis * lines.profile.radius), lines.profile.seat, end - reach, hits,
                    [&](std::int32_t body, const Interval& in) {
                        if (body == fit.thread_in)
                            face = std::max(face, in.top);
                    });
        faces.push_back(face);
    }
    const double face = median(faces);
    const double surface = median(thread.top);
    // Met where the surface round the hole is: no hole is modelled, so nothing can be said of its bottom.
    if (face > -1e30 && face < surface - one_depth_m)
        fit.room_mm = (end - face) * 1000;
}

/// A nut holds the thread. Without one it can only be in the last of what the bolt holds, even where the hole there is
/// drawn as wide as the others.
const Round* thread_of(const Solids& solids, const Fastener& fastener, const std::vector<Round>& tight,
                       const std::vector<Round>& wide) {
    const Map& map = *solids.map;
    const Round* nut = nullptr;
    const Round* last = nullptr;
    for (const std::vector<Round>* list : {&tight, &wide})
        for (const Round& one : *list) {
            const ItemId item = solids.bodies[at(one.body)].item;
            if (is_nut(map, item) && list == &tight && nut == nullptr)
                nut = &one;
            // Without a word on what it holds, whatever lies round it may hold it; never a washer.
            // A slot holds no thread, either.
            const bool may = one.all_round() &&
                             (fastener.holds.empty() ? !item || map.is_part(item) : names_part(fastener.holds, item));
            if (may && (last == nullptr || median(one.bottom) < median(last->bottom) - one_depth_m))
                last = &one;
        }
    return nut != nullptr ? nut : last;
}

/// What it is said to hold, and its nut, that lies wholly beyond its end. Nothing where something else lies before
/// that: a nut, or what is not said to be held, may be where its thread ends.
void find_unreached(const Sightlines& lines, const Fastener& fastener, double end, Fit& fit) {
    const Map& map = *lines.solids.map;
    const double radius = lines.profile.radius;
    const double drawn = std::min(end, lines.profile.end);
    const std::vector<Round> rounds =
        look_round(lines, fastener.holds, radius * clamped_circle, drawn - most_gap * 2 * radius);
    const auto highest = [](const Round& r) { return *std::max_element(r.top.begin(), r.top.end()); };
    const auto item_of = [&](const Round& r) { return lines.solids.bodies[at(r.body)].item; };
    const auto is_its_nut = [&](const Round& r) {
        return is_nut(map, item_of(r)) && !fastener.joint.empty() && map.fastener(item_of(r)).joint == fastener.joint;
    };
    const Round* farthest = nullptr;
    bool nut_reached = false; // then it clamps nothing of what lies beyond that
    for (const Round& one : rounds) {
        fit.seated = fit.seated || highest(one) > lines.profile.seat - seated_m;
        const bool reached = highest(one) > end + rounding_mm / 1000;
        nut_reached = nut_reached || (is_its_nut(one) && reached);
        if ((is_its_nut(one) || names_part(fastener.holds, item_of(one))) && !reached &&
            (farthest == nullptr || highest(one) < highest(*farthest)))
            farthest = &one;
    }
    if (farthest == nullptr || nut_reached)
        return;
    for (const Round& one : rounds) {
        const ItemId item = item_of(one);
        const bool known = is_its_nut(one) || names_part(fastener.holds, item) || is_loose(map, item);
        if (!known && highest(one) > highest(*farthest))
            return;
    }
    // In a hole much wider than the shank (a bush, an insert or a cage nut that is not modelled) it stands in that part
    // all the same, and what lies below it there is the hole's bottom.
    for (const double wider : {1.7, 2.5, 4.0})
        for (const Round& one : look_round(lines, fastener.holds, radius * wider, end))
            if (one.body == farthest->body)
                return;
    fit.unreached = farthest->body;
    fit.gap_mm = std::max(0.0, (end - highest(*farthest)) * 1000);
}

Fit measure(const Solids& solids, const Fastener& fastener) {
    const Map& map = *solids.map;
    Fit fit;
    fit.fastener = fastener.item;
    fit.diameter_stated = fastener.thread.has_value();
    const auto not_shown = [&](std::string why) {
        fit.verdict = FitVerdict::not_shown;
        fit.why = std::move(why);
        return fit;
    };
    if (fastener.drive && fastener.drive->kind == DriveKind::hand && !fastener.length_mm) {
        fit.verdict = FitVerdict::not_stated;
        fit.why = "it is turned by hand, and how long its thread is nobody states";
        return fit;
    }
    const std::int32_t own = solids.body_of[at(fastener.item.index)];
    if (own < 0)
        return not_shown("it has no shape");
    if (!measured_below_head(fastener))
        return not_shown("its head has no flat seat to measure from");
    const Profile profile =
        profile_of(solids, fastener, own, fastener.thread ? fastener.thread->diameter_mm / 2000 : 0);
    fit.diameter_mm = profile.radius * 2000;
    if (profile.missing != nullptr)
        return not_shown(profile.missing);
    fit.shank_mm = (profile.seat - profile.end) * 1000;
    fit.stated_mm = fastener.length_mm;
    // What is stated goes before what is drawn.
    const double end = fit.stated_mm ? profile.seat - *fit.stated_mm / 1000 : profile.end;
    const Sightlines lines{solids, profile, own};
    find_unreached(lines, fastener, end, fit);
    if (fit.unreached >= 0 && fit.seated && !is_plug(fastener)) {
        fit.verdict = FitVerdict::short_one;
        return fit;
    }
    fit.unreached = -1;
    const std::vector<Round> round_thread = look_round(lines, fastener.holds, profile.radius * thread_circle, end);
    const std::vector<Round> round_clamped = look_round(lines, fastener.holds, profile.radius * clamped_circle, end);
    const Round* thread = thread_of(solids, fastener, round_thread, round_clamped);
    if (round_clamped.empty() && thread == nullptr)
        return not_shown("nothing is modelled round its shank");
    if (thread == nullptr)
        return not_shown("of what it holds, nothing is modelled round its shank");
    fit.thread_drawn = thread >= round_thread.data() && thread < round_thread.data() + round_thread.size();
    fit.thread_in = thread->body;
    const bool plug = is_plug(fastener);
    const bool first = std::none_of(round_clamped.begin(), round_clamped.end(), [&](const Round& r) {
        return r.body != thread->body && median(r.top) > median(thread->top) + one_depth_m;
    });
    const std::string in = name_of(solids, thread->body);
    if (first && !plug && fastener.holds.size() > 1)
        return not_shown(fmt::format("what it clamps against {} is not modelled under its head", in));
    fit.engaged_mm = median(thread->length) * 1000;
    fit.clamped_mm = (profile.seat - median(thread->top)) * 1000;
    const ItemId holder = solids.bodies[at(thread->body)].item;
    double nut_end = 0;
    if (is_nut(map, holder)) {
        double lowest = 1e30;
        double highest = -1e30;
        each_triangle_of(solids, thread->body, [&](const Triangle& t) {
            for (const glm::dvec3& corner : {t.a, t.b, t.c}) {
                const double height = glm::dot(corner - profile.origin, profile.up);
                lowest = std::min(lowest, height);
                highest = std::max(highest, height);
            }
        });
        nut_end = lowest;
        fit.wanted_mm = (highest - lowest) * 1000;
        fit.wanted_why = "the whole nut";
    } else {
        const bool soft = holder && map.is_part(holder) && map.part(holder).material == "aluminium";
        fit.wanted_mm = fit.diameter_mm * (soft ? wanted_in_aluminium : wanted_in_metal);
        fit.wanted_why = soft ? "aluminium: 1.5 diameters" : "one diameter";
    }
    // A nut's mouth is chamfered, so that the rays leave it before its end.
    if (is_nut(map, holder)) {
        fit.ends_in_thread = end > nut_end + rounding_mm / 1000;
    } else { // what it stands in goes on beyond its end
        const double circle = fit.thread_drawn ? thread_circle : clamped_circle;
        for (const Round& one : look_round(lines, fastener.holds, profile.radius * circle, end - 4 * profile.radius))
            if (one.body == thread->body)
                fit.ends_in_thread = median(one.bottom) < end - one_depth_m;
    }
    find_bottom(lines, fit, end, *thread);
    const double room_wanted = fastener.thread ? fastener.thread->pitch_mm * room_pitches - rounding_mm : 0;
    const bool in_nut = is_nut(map, holder);
    // A nut's mouths are chamfered: what counts is whether the bolt comes out of it.
    const bool too_short = in_nut ? fit.ends_in_thread : fit.engaged_mm < fit.wanted_mm - rounding_mm;
    if (fit.room_mm && *fit.room_mm < room_wanted)
        fit.verdict = FitVerdict::bottoms;
    else if (!too_short || plug) // plugs seal; how long their thread is says little
        fit.verdict = FitVerdict::enough;
    else if (!fit.thread_drawn && median(thread->bottom) > end + one_depth_m)
        return not_shown(fmt::format("it passes through {:.1f} mm of {} and on: is a nut or weld nut not modelled?",
                                     fit.engaged_mm, in));
    else
        fit.verdict = FitVerdict::short_one;
    return fit;
}

} // namespace

Fits fit_of(const Solids& solids, const Effort& effort) {
    const Map& map = *solids.map;
    std::vector<const Fastener*> asked;
    for (const Fastener& fastener : map.fasteners)
        if (is_asked(fastener))
            asked.push_back(&fastener);
    Fits fits;
    fits.list.resize(asked.size());
    if (!in_parallel(asked.size(), effort, [&](std::size_t i) { fits.list[i] = measure(solids, *asked[i]); }))
        return fits;
    for (const Fit& fit : fits.list)
        find_doubts(solids, fit, fits.findings);
    return fits;
}

} // namespace boltwalk
