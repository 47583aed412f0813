// The stated ways, swept; what a state makes of them.
#include "core/geometry/way.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <tuple>

#include <fmt/format.h>

#include "core/geometry/rays.hpp"
#include "core/geometry/way_judge.hpp"

namespace boltwalk {

std::vector<glm::dvec3> stated_legs(const Part& part) {
    std::vector<glm::dvec3> legs;
    for (const Leg& leg : part.way) {
        const auto along = direction_of(leg.way);
        legs.push_back(glm::dvec3(along[0], along[1], along[2]) * (leg.length_mm / mm_per_m));
    }
    return legs;
}

glm::dvec3 axis_of(const Map& map, ItemId fastener) {
    const auto& own = map.fastener(fastener).axis;
    const auto& world = map.nodes[at(map[fastener].node)].world;
    glm::dvec3 axis(0.0);
    for (std::size_t column = 0; column < 3; ++column)
        for (std::size_t row = 0; row < 3; ++row)
            axis[static_cast<int>(row)] += world[4 * column + row] * own[column];
    const double length = glm::length(axis);
    return length > 0 ? axis / length : glm::dvec3(0, 1, 0);
}

namespace {

/// Where along a direction a body begins and ends.
struct Along {
    double low = 1e30, high = -1e30;
};

Along extent_of(const Solids& solids, std::int32_t body, const glm::dvec3& along) {
    Along found;
    for (const std::int32_t p : solids.bodies[at(body)].placements) {
        const Placement& placement = solids.placements[at(p)];
        const glm::vec3 own(glm::transpose(glm::dmat3(placement.world)) * along);
        const double shift = glm::dot(glm::dvec3(placement.world[3]), along);
        float low = 1e30F;
        float high = -1e30F;
        const Tree& tree = *solids.meshes[at(placement.mesh)];
        for (std::size_t v = 0; v < tree.places(); ++v) {
            const float h = glm::dot(own, tree.vertices[v]);
            low = std::min(low, h);
            high = std::max(high, h);
        }
        found.low = std::min(found.low, static_cast<double>(low) + shift);
        found.high = std::max(found.high, static_cast<double>(high) + shift);
    }
    return found;
}

/// Fasteners through the middle of this one, along its axis, are what it sits on: the end of the longest.
double end_of_joint(const Solids& solids, std::int32_t body, const glm::dvec3& axis) {
    // A nut on a shank is on its axis to within its play.
    constexpr double off_axis_m = 2e-3;
    constexpr double as_far_m = 0.3;
    const glm::dvec3 middle = solids.bodies[at(body)].bounds.centre();
    double end = -1e30;
    std::int32_t before = -1;
    each_placement(solids, {middle - axis * as_far_m, axis}, 2 * as_far_m, [&](std::int32_t p) {
        const Body& other = solids.bodies[at(solids.placements[at(p)].body)];
        const std::int32_t index = solids.placements[at(p)].body;
        if (index == body || index == before || !other.item || !solids.map->is_fastener(other.item))
            return;
        before = index;
        const glm::dvec3 along = axis_of(*solids.map, other.item);
        const glm::dvec3 to = other.bounds.centre() - middle;
        const double beside = glm::length(to - axis * glm::dot(to, axis));
        const double leaning = glm::length(glm::cross(along, axis));
        // 1e-2: a degree and a half.
        if (beside > off_axis_m || leaning > 1e-2)
            return;
        const Along there = extent_of(solids, index, axis);
        if (glm::dot(middle, axis) < there.high && glm::dot(middle, axis) > there.low)
            end = std::max(end, there.high);
    });
    return end;
}

} // namespace

WayAsked drawn(const Solids& solids, ItemId fastener) {
    WayAsked asked;
    asked.item = fastener;
    const std::int32_t body = solids.body_of[at(fastener.index)];
    if (body < 0)
        return asked;
    asked.moving = {body};
    const glm::dvec3 axis = axis_of(*solids.map, fastener);
    const Along own = extent_of(solids, body, axis);
    double length = own.high - own.low;
    if (goes_over_a_shank(solids.map->fastener(fastener).kind))
        length = std::max(length, end_of_joint(solids, body, axis) - own.low);
    asked.legs = {axis * (length + drawn_clear_mm / mm_per_m)};
    return asked;
}

WaySpace make_way_space(const Solids& solids, std::span<const WayAsked> asked, std::vector<Obstacle> obstacles,
                        const Effort& effort) {
    std::vector<std::uint8_t> moves(solids.bodies.size(), 0);
    for (const WayAsked& one : asked)
        for (const std::int32_t body : one.moving)
            moves[at(body)] = 1;
    auto shapes = std::make_shared<WayShapes>();
    shapes->senses.resize(solids.meshes.size());
    shapes->skins.resize(solids.placements.size());
    shapes->turns.resize(solids.placements.size());
    // Placements of one mesh in one size share a skin; the first of them makes it.
    std::vector<std::size_t> maker(solids.placements.size());
    std::vector<std::vector<std::size_t>> of_mesh(solids.meshes.size());
    std::vector<std::size_t> makers;
    for (std::size_t p = 0; p < solids.placements.size(); ++p) {
        const Placement& placement = solids.placements[p];
        shapes->turns[p] = turned(placement.world);
        maker[p] = p;
        if (!moves[at(placement.body)])
            continue;
        auto& others = of_mesh[at(placement.mesh)];
        const auto same = std::find_if(others.begin(), others.end(), [&](std::size_t other) {
            for (int column = 0; column < 3; ++column)
                if (glm::length(shapes->turns[other].size[column] - shapes->turns[p].size[column]) > 1e-12)
                    return false;
            return true;
        });
        if (same != others.end()) {
            maker[p] = *same;
            continue;
        }
        others.push_back(p);
        makers.push_back(p);
    }
    in_parallel(solids.meshes.size(), effort, [&](std::size_t m) {
        if (solids.meshes[m])
            shapes->senses[m] = sense_of(*solids.meshes[m]);
    });
    in_parallel(makers.size(), effort, [&](std::size_t i) {
        const Placement& placement = solids.placements[makers[i]];
        shapes->skins[makers[i]] = std::make_shared<const Skin>(make_skin(
            *solids.meshes[at(placement.mesh)], shapes->senses[at(placement.mesh)], shapes->turns[makers[i]].size));
    });
    for (std::size_t p = 0; p < solids.placements.size(); ++p)
        if (moves[at(solids.placements[p].body)])
            shapes->skins[p] = shapes->skins[maker[p]];
    for (const Obstacle& obstacle : obstacles)
        shapes->boxes.push_back(box_tree(obstacle.box));
    return {&solids, std::move(obstacles), std::move(shapes)};
}

WaySpace in_place_of(const WaySpace& space, const Solids& solids) {
    WaySpace result = space;
    result.solids = &solids;
    return result;
}

WaysOut sweep_way(const WaySpace& space, const WayAsked& asked, std::span<const std::uint8_t> there) {
    WaysOut answer = begin_answer(*space.solids, asked);
    if (asked.legs.empty() || asked.moving.empty())
        return answer;
    WayJudge judge(space, make_mover(space, asked.moving), answer.gives_way);
    WayAnswer& way = answer.ways.emplace_back();
    way.stated = true;
    glm::dvec3 offset(0.0);
    for (const glm::dvec3& leg : asked.legs) {
        way.legs.push_back(judge.sweep(offset, leg, there));
        offset += leg;
    }
    return answer;
}

std::vector<WaysOut> sweep_ways(const WaySpace& space, std::span<const WayAsked> asked, const Effort& effort) {
    std::vector<WaysOut> answers(asked.size());
    in_parallel(asked.size(), effort, [&](std::size_t i) { answers[i] = sweep_way(space, asked[i]); });
    return answers;
}

WayVerdict judge(const WayAnswer& way, std::span<const std::uint8_t> there) {
    WayVerdict verdict;
    double before = 0;
    bool stopped = false;
    for (std::size_t l = 0; l < way.legs.size(); ++l) {
        const LegAnswer& leg = way.legs[l];
        double free = glm::length(leg.leg) * mm_per_m;
        for (const Meeting& meeting : leg.met) {
            if (meeting.soft || (meeting.body >= 0 && !there.empty() && !there[at(meeting.body)]))
                continue;
            if (verdict.leg < 0)
                verdict.leg = static_cast<std::int32_t>(l);
            if (meeting.verdict == Verdict::blocked) {
                free = std::min(free, meeting.after_mm);
                verdict.verdict = Verdict::blocked;
            } else if (verdict.verdict == Verdict::free) {
                verdict.verdict = Verdict::undecided;
            }
            const auto known = std::find_if(verdict.by.begin(), verdict.by.end(), [&](const Meeting& other) {
                return other.body == meeting.body && other.obstacle == meeting.obstacle;
            });
            if (known == verdict.by.end())
                verdict.by.push_back(meeting);
            else if (known->verdict == Verdict::undecided && meeting.verdict == Verdict::blocked)
                *known = meeting;
        }
        if (!stopped)
            verdict.free_mm = before + free;
        stopped = stopped || free < glm::length(leg.leg) * mm_per_m;
        before += free;
    }
    std::stable_sort(verdict.by.begin(), verdict.by.end(), [](const Meeting& a, const Meeting& b) {
        return a.verdict == Verdict::blocked && b.verdict != Verdict::blocked;
    });
    return verdict;
}

std::int32_t best_way(const WaysOut& answer, std::span<const std::uint8_t> there) {
    std::int32_t best = -1;
    int least = 3;
    for (std::size_t w = 0; w < answer.ways.size(); ++w) {
        const Verdict verdict = judge(answer.ways[w], there).verdict;
        const int rank = verdict == Verdict::free ? 0 : verdict == Verdict::undecided ? 1 : 2;
        if (rank < least) {
            least = rank;
            best = static_cast<std::int32_t>(w);
        }
    }
    return best;
}

namespace {

/// A unit vector's word, or its numbers.
std::string word_of(const glm::dvec3& unit) {
    static constexpr std::array<std::pair<Way, const char*>, 6> words{{{Way::front, "front"},
                                                                       {Way::rear, "rear"},
                                                                       {Way::left, "left"},
                                                                       {Way::right, "right"},
                                                                       {Way::up, "up"},
                                                                       {Way::down, "down"}}};
    for (const auto& [way, word] : words) {
        const auto along = direction_of(way);
        // 1e-4: what matrices of a modelling tool are off by.
        if (glm::dot(unit, glm::dvec3(along[0], along[1], along[2])) > 1 - 1e-4)
            return word;
    }
    return fmt::format("along ({:.2f} {:.2f} {:.2f})", unit.x, unit.y, unit.z);
}

} // namespace

std::string words_of(const WayAnswer& way) {
    std::string words;
    if (way.turn.degrees != 0)
        words = fmt::format("turn {} degrees about {}", way.turn.degrees, word_of(way.turn.axis));
    for (const LegAnswer& leg : way.legs) {
        const double length = glm::length(leg.leg);
        if (!words.empty())
            words += "; ";
        words += length > 0 ? fmt::format("{} {:.0f} mm", word_of(leg.leg / length), length * mm_per_m) : "stay";
    }
    return words;
}

Estimate estimate_of(const Solids& solids, const WaysOut& answer) {
    Estimate estimate;
    estimate.item = answer.item;
    estimate.question = Question::way;
    const Map& map = *solids.map;
    for (const WayAnswer& way : answer.ways) {
        Alternative alternative;
        alternative.how = words_of(way);
        for (const Meeting& meeting : judge(way).by) {
            const ItemId item = meeting.body >= 0 ? solids.bodies[at(meeting.body)].item : ItemId{};
            const bool stays = !item || (map.is_part(item) && map.part(item).fixed);
            if (meeting.verdict == Verdict::undecided) {
                if (!stays)
                    alternative.undecided.push_back(item);
            } else if (stays && item) {
                alternative.stays.push_back(item);
            } else if (stays) {
                if (meeting.body >= 0) // a jack or a floor of the caller's has no node
                    alternative.scenery.push_back(solids.bodies[at(meeting.body)].node);
                alternative.never = true;
            } else {
                alternative.gone.push_back(item);
            }
        }
        std::sort(alternative.gone.begin(), alternative.gone.end());
        std::sort(alternative.undecided.begin(), alternative.undecided.end());
        std::sort(alternative.stays.begin(), alternative.stays.end());
        std::sort(alternative.scenery.begin(), alternative.scenery.end());
        alternative.never = alternative.never || !alternative.stays.empty();
        estimate.alternatives.push_back(std::move(alternative));
    }
    return estimate;
}

} // namespace boltwalk
