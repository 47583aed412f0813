// What is joined to what, in a state: what holds, what hangs on one part alone, what leads to the body that stays.
#include "core/job/inside.hpp"

namespace boltwalk {

using namespace inside;

bool is_freed(const Job& job, const State& state, ItemId id) {
    const std::size_t f = slot(job, id);
    const FastenerState is = state.fasteners[f];
    if (is == FastenerState::out)
        return true;
    if (!fact(job, id).nut_frees)
        return is == FastenerState::slack;
    bool has_nut = false;
    for (const ItemId other : job.joint[f]) {
        if (other == id || !is_nut(kind_of(job, other)))
            continue;
        has_nut = true;
        if (state.fasteners[slot(job, other)] != FastenerState::out)
            return false;
    }
    return has_nut;
}

namespace {

/// What a search knows of each part. Every action of an order asks a question or two, and most meet a handful of parts:
/// so the marks are kept between questions and emptied by counting up, and only one set of them is in use at a time.
class Marks {
public:
    enum Mark : std::uint32_t { none, held, hangs, by_bench, met };

    explicit Marks(std::size_t parts) {
        if (marks_.size() < parts)
            marks_.resize(parts, 0);
        if (base_ > UINT32_MAX - 8) {
            std::fill(marks_.begin(), marks_.end(), 0);
            base_ = 0;
        }
        base_ += met; // below every mark of this question, and as high as any of the one before
    }
    Mark of(std::size_t part) const { return marks_[part] > base_ ? static_cast<Mark>(marks_[part] - base_) : none; }
    void set(std::size_t part, Mark mark) { marks_[part] = base_ + mark; }

private:
    static thread_local std::vector<std::uint32_t> marks_;
    static thread_local std::uint32_t base_;
};

thread_local std::vector<std::uint32_t> Marks::marks_;
thread_local std::uint32_t Marks::base_ = 0;

/// Searches from part to part by the fasteners that hold, until something stays.
struct Grasp {
    const Job& job;
    const State& state;
    ItemId avoid; ///< paths may not lead through this part
    bool rigid_only = false;
    bool supports_stay = false; ///< what has a support of its own counts as staying
    ItemId bench{}; ///< set: on the bench, among the parts that left in this one's company; it is what stays there
    Marks marks{state.parts.size()};
    std::vector<ItemId> from_bench{}; ///< what the bench holds, in the order met; see search_bench_too()
    std::size_t bench_next = 0;

    /// Neither off, nor on another bench, nor a thing that gives way where only what is rigid counts.
    bool counts(ItemId part) const {
        if (rigid_only && fact(job, part).flexible)
            return false;
        const std::size_t p = slot(job, part);
        const bool off = state.parts[p] == PartState::off;
        return bench ? off && root_of(state, p, part) == bench : !off;
    }

    bool stays(ItemId part) const {
        if (bench)
            return part == bench;
        const Facts& facts = fact(job, part);
        return facts.fixed || (supports_stay && facts.supported && state.parts[slot(job, part)] != PartState::off);
    }

    /// A fastener that names one part only leads to the body that stays.
    bool leads_to_ground(std::span<const ItemId> holds) const { return holds.size() == 1 && !bench; }

    /// Searches from the bench too from now on, a part for each that is met from the other side: what was joined to
    /// little before it left is told by that little, and not by all that hangs on it. Only where nobody asks for the
    /// whole company.
    void search_bench_too() {
        if (!bench)
            return;
        from_bench.push_back(bench);
        marks.set(slot(job, bench), Marks::by_bench);
    }

    /// Does anything that stays hold `start`? Adds its company to `found` when nothing does.
    bool is_held(ItemId start, std::vector<ItemId>& found) {
        const std::size_t begin = found.size();
        const bool held = search(start, found);
        for (std::size_t i = begin; i < found.size(); ++i)
            if (const std::size_t p = slot(job, found[i]); marks.of(p) != Marks::by_bench)
                marks.set(p, held ? Marks::held : Marks::hangs);
        if (held)
            found.resize(begin);
        return held;
    }

private:
    bool search(ItemId start, std::vector<ItemId>& found) {
        std::size_t next = found.size();
        found.push_back(start);
        marks.set(slot(job, start), Marks::met);
        if (stays(start))
            return true;
        for (; next < found.size(); ++next) {
            if (bench_next < from_bench.size() && follow_bench())
                return true;
            if (!from_bench.empty() && bench_next == from_bench.size())
                return false; // all that the bench holds is known, and this was not met
            for (const ItemId id : job.held_by[slot(job, found[next])]) {
                if (is_freed(job, state, id))
                    continue;
                const auto holds = job.holds[slot(job, id)];
                if (leads_to_ground(holds))
                    return true;
                for (const ItemId part : holds) {
                    if (part == avoid || !counts(part))
                        continue;
                    const std::size_t p = slot(job, part);
                    const Marks::Mark mark = marks.of(p);
                    if (mark == Marks::met)
                        continue;
                    if (mark == Marks::held || mark == Marks::by_bench || stays(part))
                        return true;
                    marks.set(p, Marks::met);
                    found.push_back(part);
                }
            }
        }
        return false;
    }

    /// One part further from the bench; does it meet what is being searched from the other side?
    bool follow_bench() {
        bool meets = false;
        for (const ItemId id : job.held_by[slot(job, from_bench[bench_next++])]) {
            if (is_freed(job, state, id))
                continue;
            for (const ItemId part : job.holds[slot(job, id)]) {
                if (part == avoid || !counts(part))
                    continue;
                const std::size_t p = slot(job, part);
                const Marks::Mark mark = marks.of(p);
                meets = meets || mark == Marks::met;
                if (mark == Marks::by_bench)
                    continue;
                marks.set(p, Marks::by_bench);
                from_bench.push_back(part);
            }
        }
        return meets;
    }
};

} // namespace

namespace inside {

ItemId bench_of(const Job& job, const State& state, ItemId part) {
    const std::size_t p = slot(job, part);
    return state.parts[p] == PartState::off ? state.went_with[p] : ItemId{};
}

ItemId root_of(const State& state, std::size_t part_slot, ItemId part) {
    return state.went_with[part_slot] ? state.went_with[part_slot] : part;
}

std::vector<ItemId> hanging_on(const Job& job, const State& state, ItemId part, bool rigid_only) {
    Grasp grasp{job, state, part, rigid_only, true, bench_of(job, state, part)};
    std::vector<ItemId> set{part};
    for (const ItemId id : job.held_by[slot(job, part)]) {
        if (is_freed(job, state, id))
            continue;
        for (const ItemId neighbour : job.holds[slot(job, id)])
            if (neighbour != part && grasp.counts(neighbour) && grasp.marks.of(slot(job, neighbour)) == Marks::none)
                grasp.is_held(neighbour, set);
    }
    if (!std::is_sorted(set.begin() + 1, set.end())) // a long row of parts is, mostly
        std::sort(set.begin() + 1, set.end());
    return set;
}

// Whatever hangs on the part alone is joined to nothing but the part and itself: so only the part's own fasteners lead
// out of what hangs.
std::vector<ItemId> boundary(const Job& job, const State& state, ItemId part, bool rigid_only) {
    Grasp grasp{job, state, part, rigid_only, true, bench_of(job, state, part)};
    grasp.search_bench_too();
    std::vector<ItemId> crossing, hanging;
    const auto is_held = [&](ItemId neighbour) {
        if (neighbour == part || !grasp.counts(neighbour))
            return false;
        const Marks::Mark mark = grasp.marks.of(slot(job, neighbour));
        return mark == Marks::none ? grasp.is_held(neighbour, hanging) : mark == Marks::held || mark == Marks::by_bench;
    };
    for (const ItemId id : job.held_by[slot(job, part)]) {
        if (is_freed(job, state, id))
            continue;
        const auto holds = job.holds[slot(job, id)];
        if (grasp.leads_to_ground(holds) || std::any_of(holds.begin(), holds.end(), is_held))
            crossing.push_back(id);
    }
    return crossing;
}

bool makes_whole(const Job& job, ItemId id) {
    const Facts& facts = fact(job, id);
    return facts.joins && !facts.pushed && job.turned[at(facts.slot)] == id;
}

std::vector<ItemId> half_undone(const Job& job, const State& state, ItemId undoing) {
    // Of each flange, mount, cover: is any of it undone, does any of it hold?
    constexpr std::uint8_t undone = 1, holds = 2;
    const std::size_t count = job.turned.size();
    const ItemId also = undoing ? job.turned[slot(job, undoing)] : ItemId{};
    std::vector<std::uint8_t> kins;
    std::vector<ItemId> parts;
    std::vector<ItemId> loose; // what is undone, one a flange
    for (std::size_t f = 0; f < count; ++f) {
        const ItemId id = job.map->fasteners[f].item;
        if (!makes_whole(job, id))
            continue;
        const std::size_t kin = at(job.kin[f]);
        if (kin >= kins.size())
            kins.resize(kin + 1, 0);
        const auto joint = job.joint[f];
        const bool nut_off = std::any_of(joint.begin(), joint.end(), [&](ItemId other) {
            return is_nut(kind_of(job, other)) && state.fasteners[slot(job, other)] == FastenerState::out;
        });
        const bool is_undone = id == also || nut_off || is_freed(job, state, id);
        if (is_undone && (kins[kin] & undone) == 0)
            loose.push_back(id);
        kins[kin] |= is_undone ? undone : holds;
    }
    const auto half = [&](ItemId id) {
        const std::size_t kin = at(job.kin[slot(job, id)]);
        return kin < kins.size() && kins[kin] == (undone | holds);
    };
    for (const ItemId id : loose)
        if (half(id))
            for (const ItemId part : job.holds[slot(job, id)])
                if (!names(parts, part))
                    parts.push_back(part);
    std::erase_if(parts, [&](ItemId part) {
        const Facts& facts = fact(job, part);
        const std::size_t p = at(facts.slot);
        if (facts.fixed || facts.flexible || state.propped[p] != 0 || state.parts[p] != PartState::on)
            return true;
        bool hangs = false;
        for (const ItemId by : boundary(job, state, part, true)) {
            if (fact(job, by).pushed)
                continue;
            if (!half(by))
                return true;
            hangs = true;
        }
        return !hangs;
    });
    std::sort(parts.begin(), parts.end());
    return parts;
}

bool rigidly_held(const Job& job, const State& state, ItemId part) {
    Grasp grasp{job, state, ItemId{}, true};
    std::vector<ItemId> found;
    return grasp.is_held(part, found);
}

std::vector<ItemId> moving_with(const Job& job, const State& state, ItemId part) {
    Grasp grasp{job, state, ItemId{}, true};
    std::vector<ItemId> moving;
    return grasp.is_held(part, moving) ? std::vector<ItemId>{part} : moving;
}

std::vector<ItemId> company_of(const Job& job, const State& state, ItemId part) {
    Marks marks(state.parts.size());
    std::vector<ItemId> company{part};
    marks.set(slot(job, part), Marks::met);
    for (std::size_t i = 0; i < company.size(); ++i)
        for (const ItemId id : job.held_by[slot(job, company[i])])
            for (const ItemId other : job.holds[slot(job, id)])
                if (const std::size_t p = slot(job, other); state.went_with[p] == part && marks.of(p) == Marks::none) {
                    marks.set(p, Marks::met);
                    company.push_back(other);
                }
    return company;
}

} // namespace inside

std::vector<ItemId> hangs_on(const Job& job, const State& state, ItemId part) {
    return hanging_on(job, state, part, false);
}

} // namespace boltwalk
