// Looking for a way where none is stated, or where the stated one is blocked.
#include <algorithm>
#include <cmath>
#include <deque>

#include "core/geometry/rays.hpp"
#include "core/geometry/way_judge.hpp"

namespace boltwalk {

namespace {

/// Off what blocks by this much before another leg begins, so that it does not begin in contact.
constexpr double back_off_m = 1e-3;
/// A leg that is blocked before this leads nowhere.
constexpr double least_leg_m = 3e-3;
/// Where a leg may end for the next to begin: twice as far each time. The first clears a dowel or a lip.
constexpr double first_stop_m = 0.01;
constexpr std::size_t most_legs = 3;
/// Directions that differ by less than this (a cosine: 4 degrees) are one.
constexpr double same_direction = 0.9976;
/// Turns that are tried, in degrees; more is no small turn.
constexpr std::array<int, 2> turned_by{2, 5};
/// The farthest point goes no farther than this between two looks while it turns, metres.
constexpr double turn_step_m = 2e-3;
/// Tangent of half a degree; sine and cosine of a degree follow from it by + - * / alone.
constexpr double half_degree = 0.00872686779;
/// What is clear of everything has a box this much larger than its own with nothing in it; metres.
constexpr double clear_m = 0.005;
constexpr double clear_step_m = 0.01; ///< or a hundredth of the way, so that a model in millimetres takes no longer
constexpr std::size_t touch_samples = 256;
/// Of the queries so many are for lines, the rest for turns.
constexpr int for_lines(int queries) {
    return queries - queries / 4;
}

void add_direction(std::vector<glm::dvec3>& list, const glm::dvec3& direction) {
    for (const glm::dvec3& other : list)
        if (glm::dot(other, direction) > same_direction)
            return;
    list.push_back(direction);
}

/// Directions straight away from faces that it touches, those of the largest faces first.
void across_contacts(const Solids& solids, const Mover& mover, std::span<const std::uint8_t> there,
                     std::vector<glm::dvec3>& list) {
    struct Face {
        glm::dvec3 away;
        double area;
    };
    std::vector<Face> faces;
    std::size_t all = 0;
    for (const Piece& piece : mover.pieces)
        all += piece.tree->size();
    const std::size_t stride = std::max<std::size_t>(1, all / touch_samples);
    // From a little inside to a little outside: within this, faces touch.
    constexpr double inside_m = 1e-4;
    constexpr double touch_m = 6e-4;
    std::size_t number = 0;
    for (const Piece& piece : mover.pieces)
        for (std::size_t i = 0; i < piece.tree->size(); ++i) {
            if (number++ % stride != 0)
                continue;
            const Tree::Corners t = piece.tree->triangle(i);
            const auto world = [&](const glm::vec3& p) { return glm::dvec3(piece.world * glm::dvec4(p, 1.0)); };
            const glm::dvec3 a = world(t.a);
            const glm::dvec3 b = world(t.b);
            const glm::dvec3 c = world(t.c);
            glm::dvec3 normal = glm::cross(b - a, c - a);
            const double area = glm::length(normal);
            if (!(area > 0))
                continue;
            normal *= (piece.mirrored != piece.sense.inside_out ? -1.0 : 1.0) / area;
            const RayHit hit = [&] {
                RayHit nearest;
                each_hit(solids, {(a + b + c) / 3.0 - normal * inside_m, normal}, touch_m, [&](const RayHit& met) {
                    if (!mover.moves[at(met.body)] && (there.empty() || there[at(met.body)]))
                        nearest = met;
                });
                return nearest;
            }();
            if (hit.body < 0)
                continue;
            const auto same = std::find_if(faces.begin(), faces.end(), [&](const Face& face) {
                return glm::dot(face.away, -normal) > same_direction;
            });
            if (same == faces.end())
                faces.push_back({-normal, area});
            else
                same->area += area;
        }
    std::stable_sort(faces.begin(), faces.end(), [](const Face& x, const Face& y) { return x.area > y.area; });
    constexpr std::size_t kept = 4;
    for (std::size_t i = 0; i < faces.size() && i < kept; ++i)
        add_direction(list, faces[i].away);
}

std::vector<glm::dvec3> ways_out(const Solids& solids, const WayAsked& asked, const Mover& mover,
                                 std::span<const std::uint8_t> there) {
    std::vector<glm::dvec3> list{{0, -1, 0}, {0, 0, -1}, {0, 0, 1}, {1, 0, 0}, {-1, 0, 0}, {0, 1, 0}};
    if (asked.item)
        for (const Fastener& fastener : solids.map->fasteners) {
            if (std::find(fastener.holds.begin(), fastener.holds.end(), asked.item) == fastener.holds.end())
                continue;
            const glm::dvec3 axis = axis_of(*solids.map, fastener.item);
            add_direction(list, axis);
            add_direction(list, -axis);
        }
    across_contacts(solids, mover, there, list);
    return list;
}

/// How far along a direction until its box has left the box of everything.
double exit_length(const Bounds& box, const Bounds& all, const glm::dvec3& offset, const glm::dvec3& along) {
    double least = 1e30;
    for (int axis = 0; axis < 3; ++axis) {
        if (along[axis] > 1e-9)
            least = std::min(least, (all.high[axis] - box.low[axis] - offset[axis]) / along[axis]);
        else if (along[axis] < -1e-9)
            least = std::min(least, (all.low[axis] - box.high[axis] - offset[axis]) / along[axis]);
    }
    return std::max(least, 0.0) + clear_m;
}

/// Before what, along a leg, in a state; what gives way does not count.
double goes(const LegAnswer& leg) {
    double free = glm::length(leg.leg);
    for (const Meeting& meeting : leg.met)
        if (!meeting.soft)
            free = std::min(free, meeting.after_mm / mm_per_m);
    return free;
}

std::size_t blockers(const LegAnswer& leg) {
    std::size_t count = 0;
    for (const Meeting& meeting : leg.met)
        count += meeting.soft ? 0 : 1;
    return count;
}

/// Whether all that blocks `a` blocks `b` too.
bool blocks_no_more(const LegAnswer& a, const LegAnswer& b) {
    return std::all_of(a.met.begin(), a.met.end(), [&](const Meeting& one) {
        return one.soft || std::any_of(b.met.begin(), b.met.end(), [&](const Meeting& other) {
                   return !other.soft && other.body == one.body && other.obstacle == one.obstacle;
               });
    });
}

/// The line that is blocked by the fewest, then others of which each needs something else gone: which of them opens
/// first is for the order to say.
std::vector<LegAnswer> least_blocked(std::vector<LegAnswer> lines) {
    constexpr std::size_t most_lines = 4;
    std::stable_sort(lines.begin(), lines.end(), [](const LegAnswer& a, const LegAnswer& b) {
        return std::pair(blockers(a), -goes(a)) < std::pair(blockers(b), -goes(b));
    });
    std::vector<LegAnswer> kept;
    for (LegAnswer& line : lines)
        if (kept.size() < most_lines && std::none_of(kept.begin(), kept.end(), [&](const LegAnswer& better) {
                return blocks_no_more(better, line);
            }))
            kept.push_back(std::move(line));
    return kept;
}

/// The last leg need not go on to the end of everything: where its box is empty of others, it is out.
double shortened(const Solids& solids, const Mover& mover, std::span<const std::uint8_t> there,
                 const glm::dvec3& offset, const glm::dvec3& along, double length) {
    const double step = std::max(clear_step_m, length / 100);
    double way = step;
    while (way < length) {
        const glm::dvec3 by = offset + along * way;
        bool empty = true;
        each_triangle(solids, {mover.bounds.low + by - clear_m, mover.bounds.high + by + clear_m},
                      [&](const Triangle& t) {
                          empty = empty && (mover.moves[at(t.body)] || (!there.empty() && !there[at(t.body)]));
                      });
        if (empty)
            return way;
        way += step;
    }
    return length;
}

/// Legs one after the other that lead out, or nothing.
std::vector<glm::dvec3> crawl(WayJudge& judge, const std::vector<glm::dvec3>& ways, const WaySearch& search,
                              std::vector<LegAnswer>* straight) {
    const Solids& solids = *judge.space().solids;
    struct Open {
        std::vector<glm::dvec3> legs;
        glm::dvec3 offset{0.0};
    };
    std::deque<Open> open{{}};
    while (!open.empty()) {
        const Open now = std::move(open.front());
        open.pop_front();
        std::vector<Open> next;
        for (const glm::dvec3& along : ways) {
            if (!now.legs.empty()) {
                const double turn = glm::dot(glm::normalize(now.legs.back()), along);
                if (turn > same_direction || turn < -same_direction)
                    continue;
            }
            if (judge.queries >= for_lines(search.queries))
                return {};
            const double length = exit_length(judge.mover().bounds, solids.bounds, now.offset, along);
            const LegAnswer leg = judge.sweep(now.offset, along * length, search.there);
            const double free = goes(leg);
            if (straight && now.legs.empty())
                straight->push_back(leg);
            if (free >= length) {
                std::vector<glm::dvec3> legs = now.legs;
                legs.push_back(along * shortened(solids, judge.mover(), search.there, now.offset, along, length));
                return legs;
            }
            if (now.legs.size() + 1 >= most_legs)
                continue;
            const double farthest = free - back_off_m;
            const auto stop = [&](double way) {
                Open later = now;
                later.legs.push_back(along * way);
                later.offset += along * way;
                next.push_back(std::move(later));
            };
            // Of a second leg only its end is gone on from: a third leg is for what opens there.
            double way = now.legs.empty() ? first_stop_m : farthest;
            while (way < farthest) {
                stop(way);
                way *= 2;
            }
            if (farthest >= least_leg_m)
                stop(farthest);
        }
        // Short detours before long ones, whichever way they lead.
        std::stable_sort(next.begin(), next.end(), [](const Open& a, const Open& b) {
            return glm::length(a.legs.back()) < glm::length(b.legs.back());
        });
        for (Open& later : next)
            open.push_back(std::move(later));
    }
    return {};
}

WayAnswer answer_of(WayJudge& judge, const std::vector<glm::dvec3>& legs, const WaySearch& search) {
    WayAnswer way;
    glm::dvec3 offset(0.0);
    for (const glm::dvec3& leg : legs) {
        way.legs.push_back(judge.sweep(offset, leg, search.any_state ? std::span<const std::uint8_t>{} : search.there));
        offset += leg;
    }
    return way;
}

/// A small turn, then straight out.
bool turn_out(WayJudge& judge, const WaySpace& space, const WaySearch& search, bool gives_way, WaysOut& answer) {
    const Solids& solids = *space.solids;
    const Mover& mover = judge.mover();
    const glm::dvec3 middle = mover.bounds.centre();
    const double radius = mover.bounds.radius();
    int pieces = 1;
    while (radius * 2 * half_degree / pieces > turn_step_m && pieces < 64)
        pieces *= 2;
    const double t = half_degree / pieces;
    const double sine = 2 * t / (1 + t * t);
    const double cosine = (1 - t * t) / (1 + t * t);
    for (int axis = 0; axis < 3; ++axis)
        for (const double sense : {1.0, -1.0}) {
            glm::dvec3 about(0.0);
            about[axis] = sense;
            Mover turned = mover;
            std::vector<Meeting> met;
            int degrees = 0;
            for (const int wanted : turned_by) {
                bool stuck = false;
                while (degrees < wanted && !stuck) {
                    for (int k = 0; k < pieces && !stuck; ++k) {
                        if (judge.queries >= search.queries)
                            return false;
                        turned = turned_mover(turned, about, middle, sine, cosine);
                        const LegAnswer look =
                            judge.in_place(turned, search.any_state ? std::span<const std::uint8_t>{} : search.there);
                        ++judge.queries;
                        for (const Meeting& meeting : look.met) {
                            stuck = stuck || (!meeting.soft && (meeting.body < 0 || search.there.empty() ||
                                                                search.there[at(meeting.body)]));
                            const bool known = std::any_of(met.begin(), met.end(), [&](const Meeting& other) {
                                return other.body == meeting.body && other.obstacle == meeting.obstacle;
                            });
                            if (!known)
                                met.push_back(meeting);
                        }
                    }
                    ++degrees;
                }
                if (stuck)
                    break;
                WayJudge straight(space, turned, gives_way);
                for (const glm::dvec3& along : {glm::dvec3(0, -1, 0), glm::dvec3(0, 0, -1), glm::dvec3(0, 0, 1),
                                                glm::dvec3(1, 0, 0), glm::dvec3(-1, 0, 0), glm::dvec3(0, 1, 0)}) {
                    if (judge.queries++ >= search.queries)
                        return false;
                    const double length = exit_length(turned.bounds, solids.bounds, glm::dvec3(0.0), along);
                    const LegAnswer leg = straight.sweep(glm::dvec3(0.0), along * length, search.there);
                    if (goes(leg) < length)
                        continue;
                    WayAnswer way = answer_of(
                        straight, {along * shortened(solids, turned, search.there, glm::dvec3(0.0), along, length)},
                        search);
                    way.turn = {about, wanted};
                    // What the turn itself meets in other states is in the way before the leg begins.
                    for (Meeting& meeting : met) {
                        meeting.after_mm = 0;
                        way.legs[0].met.insert(way.legs[0].met.begin(), meeting);
                    }
                    answer.ways.push_back(std::move(way));
                    return true;
                }
            }
        }
    return false;
}

} // namespace

bool find_way(const WaySpace& space, const WayAsked& asked, const WaySearch& search, WaysOut& answer) {
    if (asked.moving.empty())
        return false;
    WayJudge judge(space, make_mover(space, asked.moving), answer.gives_way);
    if (judge.mover().pieces.empty())
        return false;
    const std::vector<glm::dvec3> ways = ways_out(*space.solids, asked, judge.mover(), search.there);
    std::vector<LegAnswer> straight;
    const std::vector<glm::dvec3> legs = crawl(judge, ways, search, &straight);
    if (!legs.empty()) {
        answer.ways.push_back(answer_of(judge, legs, search));
        return true;
    }
    if (turn_out(judge, space, search, answer.gives_way, answer))
        return true;
    for (const LegAnswer& line : least_blocked(std::move(straight))) {
        WayAnswer blocked = answer_of(judge, {line.leg}, search);
        blocked.out = false;
        answer.ways.push_back(std::move(blocked));
    }
    return false;
}

} // namespace boltwalk
