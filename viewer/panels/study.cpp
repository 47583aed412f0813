#include "viewer/panels/study.hpp"

#include <algorithm>
#include <exception>

#include <fmt/format.h>

#include "core/geometry/reach.hpp"
#include "core/job/shapes.hpp"
#include "core/job/ways.hpp"

namespace boltwalk {

namespace {

constexpr int WAY_QUERIES = 60;       // as in `boltwalk picture`
constexpr std::size_t MOST_NAMED = 4; // in an item's way

std::size_t at(std::int32_t index) {
    return static_cast<std::size_t>(index);
}

void name_all(const Solids& solids, const std::vector<std::int32_t>& bodies, const char* words,
              std::vector<InTheWay>& list) {
    for (std::size_t i = 0; i < std::min(bodies.size(), MOST_NAMED); ++i)
        list.push_back({solids.bodies[at(bodies[i])].item, fmt::format("{}: {}", name_of(solids, bodies[i]), words)});
}

std::vector<std::vector<InTheWay>> find_in_the_way(const Session& session, const Effort& effort) {
    const Map& map = session.map;
    const Solids& solids = session.eyes.solids;
    std::vector<std::vector<InTheWay>> all(map.items.size());
    const State found = as_found(session.job);
    const Arrangement now = arrange(session.job, solids, found);
    const Reach reach = find_reach(solids, {}, home_box(), effort);
    if (effort.progress && !effort.progress(0.5F))
        return all;
    for (const Fastener& fastener : map.fasteners) {
        const ReachAnswer answer = judge_reach(reach, fastener.item, Use::turn, now);
        if (answer.grip == Grip::tool && answer.verdict == Verdict::blocked)
            name_all(solids, answer.blocked_by, "no tool of a home box gets on past it", all[at(fastener.item.index)]);
    }
    std::vector<Leaving> leaving;
    for (const Part& part : map.parts)
        if (!part.fixed)
            leaving.push_back(leaving_at(session.job, solids, found, part.item, Verb::take_off));
    const std::vector<WayFound> ways = ways_of(session.job, solids, leaving, 0, effort);
    for (std::size_t i = 0; i < ways.size() && i < leaving.size(); ++i) {
        if (!ways[i].has_stated)
            continue;
        std::vector<std::int32_t> blockers;
        for (const Meeting& meeting : ways[i].stated.by)
            if (meeting.verdict == Verdict::blocked && !meeting.soft && meeting.body >= 0)
                blockers.push_back(meeting.body);
        name_all(solids, blockers, "stands in its stated way out", all[at(leaving[i].asked.item.index)]);
    }
    return all;
}

} // namespace

Study::Study(const Session& session) : session_(session) {
    if (!ONE_THREAD)
        thread_ = std::thread([this] { work(); });
}

Study::~Study() {
    cancelled_ = true;
    if (thread_.joinable())
        thread_.join();
}

void Study::work() {
    Effort effort;
    effort.progress = [this](float) { return !cancelled_; };
    const auto publish = [this] {
        if (!cancelled_)
            ++done_;
        wake_window();
        return !cancelled_;
    };
    const Session& s = session_;
    try {
        if (!s.map.items.empty()) {
            out_of_sight_ = boltwalk::out_of_sight(s.job, s.stage, s.eyes, s.strip, s.room, effort);
            bool on = publish();
            if (on) {
                const auto shots = shots_of(s.job, s.strip, start_of(s, false));
                strip_ = overlays_of(s.job, s.stage, s.eyes.solids, s.strip, shots, WAY_QUERIES, effort);
                on = publish();
            }
            if (on) {
                const auto shots = shots_of(s.job, s.refit, start_of(s, true));
                refit_ = overlays_of(s.job, s.stage, s.eyes.solids, s.refit, shots, WAY_QUERIES, effort);
                on = publish();
            }
            if (on) {
                in_the_way_ = find_in_the_way(s, effort);
                publish();
            }
        }
    } catch (const std::exception&) {
        // Out of memory, most likely. What is there is right, and the window goes on without the rest.
    }
    finished_ = true;
    wake_window();
}

} // namespace boltwalk
