// What holds the other side while one end of a joint is turned.
#include <algorithm>

#include "core/job/inside.hpp"

namespace boltwalk::inside {

namespace {

bool is_shaft(FastenerKind kind) {
    return kind == FastenerKind::bolt || kind == FastenerKind::screw;
}

/// The nut on a bolt, the bolt in a nut; none where it has none, or is neither.
ItemId other_end(const Job& job, ItemId id) {
    const FastenerKind kind = kind_of(job, id);
    for (const ItemId mate : job.joint[slot(job, id)])
        if ((is_nut(kind) && is_shaft(kind_of(job, mate))) || (is_shaft(kind) && is_nut(kind_of(job, mate))))
            return mate;
    return {};
}

/// Where it names a drive: the tool for that.
std::string words_of_counter(const std::string& counter) {
    const Reading<Drive> drive = read_drive(counter);
    return drive ? tool_for(*drive) : counter;
}

} // namespace

bool states_hold(const Fastener& fastener) {
    return !fastener.counter.empty() || fastener.counter_from != Place::not_stated;
}

std::optional<Hold> hold_of(const Job& job, Verb verb, ItemId id) {
    const bool undoes = verb == Verb::take_out || verb == Verb::loosen || verb == Verb::prove;
    if (!fact(job, id).countered || !(undoes || verb == Verb::tighten || verb == Verb::seat))
        return std::nullopt; // by hand there is nothing to hold
    const ItemId end = other_end(job, id);
    if (undoes && end && is_shaft(kind_of(job, id)))
        return std::nullopt; // the nut came off first: that was when it had to be held
    const Fastener& fastener = job.map->fastener(id);
    if (states_hold(fastener))
        return Hold{words_of_counter(fastener.counter), fastener.counter_from};
    if (!end)
        return std::nullopt;
    // Stated at the other end only: this one is held there, and so is that one here.
    const Fastener& other = job.map->fastener(end);
    if (!states_hold(other) || other.counter == "brake" || other.counter == "gear")
        return std::nullopt;
    return Hold{tool_for(other.drive), (*job.map)[end].from};
}

int people_for(const Job& job, Verb verb, ItemId id) {
    const Facts& facts = fact(job, id);
    if (!facts.countered)
        return facts.people;
    const auto hold = hold_of(job, verb, id);
    const bool elsewhere = hold && hold->from != Place::not_stated && hold->from != static_cast<Place>(facts.from);
    return elsewhere ? std::max(facts.people, 2) : facts.people;
}

} // namespace boltwalk::inside
