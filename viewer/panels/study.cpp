#include "viewer/panels/study.hpp"

#include <algorithm>
#include <array>
#include <exception>

#include <fmt/format.h>

#include "core/geometry/reach.hpp"
#include "core/job/shapes.hpp"
#include "core/job/ways.hpp"

namespace boltwalk {

namespace {

constexpr int WAY_QUERIES = 60;        // as in `boltwalk picture`
constexpr std::size_t MOST_IN_WAY = 4; // in an item's way

// Shares of the whole, as they came out on the large demo map; only the bar's evenness hangs on them.
struct Portion {
    const char* doing;
    float until;
};
constexpr std::array<Portion, Study::parts> PARTS{{{"what is out of sight", 0.15F},
                                                   {"seen apart", 0.3F},
                                                   {"the way down", 0.6F},
                                                   {"the way back", 0.8F},
                                                   {"what is in the way", 1}}};

void name_all(const Solids& solids, const std::vector<std::int32_t>& bodies, const char* words,
              std::vector<InTheWay>& list) {
    for (std::size_t i = 0; i < std::min(bodies.size(), MOST_IN_WAY); ++i)
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
    start();
}

Study::~Study() {
    stop();
    if (thread_.joinable())
        thread_.join();
}

void Study::start() {
    stopped_ = finished_ = false;
    if (!ONE_THREAD)
        thread_ = std::thread([this] { work(); });
}

void Study::stop() {
    stopped_ = true;
    if (ONE_THREAD) // nothing here is at work that could come to look; who works elsewhere is stopped there
        finished_ = true;
}

void Study::resume() {
    if (!finished_ || whole())
        return;
    if (thread_.joinable())
        thread_.join(); // it has ended
    start();
}

void Study::find(int part, const Effort& effort) {
    const Session& s = session_;
    const auto overlays = [&](bool back) {
        const Plan& plan = back ? s.refit : s.strip;
        const auto shots = shots_of(s.job, plan, start_of(s, back));
        return overlays_of(s.job, s.stage, s.eyes.solids, plan, shots, WAY_QUERIES, effort);
    };
    switch (part) {
    case 0:
        out_of_sight_ = boltwalk::out_of_sight(s.job, s.stage, s.eyes, s.strip, s.room, effort);
        break;
    case 1:
        explosion_ = explode(s.eyes.solids, apart_of(s.job, s.eyes.solids, s.strip), effort);
        break;
    case 2:
        strip_ = overlays(false);
        break;
    case 3:
        refit_ = overlays(true);
        break;
    default:
        in_the_way_ = find_in_the_way(s, effort);
        break;
    }
}

void Study::tell() {
    ++news_;
    wake_window();
}

void Study::begin(int part) {
    doing_ = PARTS[std::size_t(part)].doing;
    share_ = part > 0 ? PARTS[std::size_t(part - 1)].until : 0;
}

void Study::work() {
    const auto progress = [this](float share) {
        if (share - share_ >= 0.02F || share >= 1) { // seldom enough that nothing is drawn for nothing
            share_ = share;
            tell();
        }
        return !stopped_;
    };
    try {
        for (int part = done_; part < parts && !session_.map.items.empty() && !stopped_; ++part) {
            const float from = part > 0 ? PARTS[std::size_t(part - 1)].until : 0;
            const float until = PARTS[std::size_t(part)].until;
            begin(part);
            Effort effort;
            effort.progress = [&](float share) {
                return progress(from + std::clamp(share, 0.0F, 1.0F) * (until - from));
            };
            find(part, effort);
            if (stopped_)
                break;
            ++done_;
            share_ = until;
            tell();
        }
    } catch (const std::exception&) {
        // Out of memory, most likely. What is there is right, and the window goes on without the rest.
    }
    finished_ = true;
    tell();
}

} // namespace boltwalk
