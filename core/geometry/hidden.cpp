// Judging states by the sights that were measured; no ray is cast here.
#include "core/geometry/hidden.hpp"

#include <algorithm>
#include <map>

#include "core/geometry/shifts.hpp"

namespace boltwalk {

namespace {

bool is_there(const Arrangement& arrangement, std::int32_t body) {
    return body >= 0 && (at(body) >= arrangement.there.size() || arrangement.there[at(body)]);
}

/// For one arrangement and head: the case that fits best, and who of the bodies stands there as that case has it.
class Drawn {
public:
    Drawn(const Sights& sights, const Arrangement& arrangement) : sights_(sights), arrangement_(arrangement) {
        for (const SightCase& one : sights.cases) {
            const std::size_t bodies = std::max(one.shift.size(), arrangement.shift.size());
            auto& differ = differ_.emplace_back();
            for (std::size_t b = 0; b < bodies; ++b) {
                const auto body = static_cast<std::int32_t>(b);
                if (!same_shift(shift_of(one.shift, body), shift_of(arrangement.shift, body)))
                    differ.push_back(body);
            }
        }
    }

    void choose(std::int32_t own) {
        own_ = own;
        std::size_t least = 0;
        for (std::size_t c = 0; c < sights_.cases.size(); ++c) {
            const std::size_t count = differing(c);
            if (c == 0 || count < least) {
                least = count;
                case_ = c;
            }
        }
    }

    std::size_t chosen() const { return case_; }
    bool stands(std::int32_t body) const {
        return is_there(arrangement_, body) && (differ_[case_].empty() || alike(case_, body));
    }

private:
    bool alike(std::size_t c, std::int32_t body) const {
        const auto& shift = sights_.cases[c].shift;
        return same_shift(shift_of(arrangement_.shift, body) - shift_of(arrangement_.shift, own_),
                          shift_of(shift, body) - shift_of(shift, own_));
    }
    std::size_t differing(std::size_t c) const {
        const auto& differ = differ_[c];
        const bool own_differs = std::binary_search(differ.begin(), differ.end(), own_);
        std::size_t count = 0;
        if (!own_differs) {
            for (const std::int32_t body : differ)
                count += is_there(arrangement_, body) ? 1U : 0U;
            return count;
        }
        const std::size_t bodies = std::max(sights_.cases[c].shift.size(), arrangement_.shift.size());
        for (std::size_t b = 0; b < bodies; ++b) {
            const auto body = static_cast<std::int32_t>(b);
            count += is_there(arrangement_, body) && !alike(c, body) ? 1U : 0U;
        }
        return count;
    }

    const Sights& sights_;
    const Arrangement& arrangement_;
    std::vector<std::vector<std::int32_t>> differ_; ///< by case: bodies shifted otherwise
    std::int32_t own_ = -1;
    std::size_t case_ = 0;
};

Seen seen_by(const Sights& sights, std::size_t fastener, const Arrangement& arrangement, Drawn& drawn) {
    Seen result;
    const Head& head = sights.heads[fastener];
    result.there = is_there(arrangement, head.body);
    drawn.choose(head.body);
    const HeadSights& own = sights.cases[drawn.chosen()].heads[fastener];
    if (!(own.free[0] > 0))
        return result;
    result.known = true;
    ByPlace hidden{};
    for (const Sight& sight : own.sights) {
        bool free = true;
        for (std::uint32_t i = sight.first; free && i < sight.first + sight.count; ++i)
            free = !drawn.stands(own.bodies[i]);
        ByPlace& sum = free ? result.share : hidden;
        sum[at(sight.from)] += sight.weight;
        if (sight.from != Place::inside)
            sum[0] += sight.weight;
    }
    for (std::size_t p = 0; p < result.share.size(); ++p) {
        result.facing[p] = own.free[p] / own.free[0];
        if (result.facing[p] < least_facing)
            result.facing[p] = result.share[p] = 0;
        else // exactly 0 and 1 where nothing and everything is seen, whatever rounding makes of the sums
            result.share[p] = hidden[p] > 0 ? result.share[p] / (result.share[p] + hidden[p]) : 1;
    }
    return result;
}

} // namespace

Seen seen(const Sights& sights, std::size_t fastener, const Arrangement& arrangement) {
    Drawn drawn(sights, arrangement);
    return seen_by(sights, fastener, arrangement, drawn);
}

std::vector<Seen> seen(const Sights& sights, const Arrangement& arrangement) {
    Drawn drawn(sights, arrangement);
    std::vector<Seen> result;
    for (std::size_t i = 0; i < sights.heads.size(); ++i)
        result.push_back(seen_by(sights, i, arrangement, drawn));
    return result;
}

Place best_place(const Seen& seen) {
    std::size_t best = 0;
    double most = -1;
    for (std::size_t p = 1; p < seen.share.size(); ++p)
        if (seen.share[p] * seen.facing[p] > most) {
            most = seen.share[p] * seen.facing[p];
            best = p;
        }
    return static_cast<Place>(best);
}

Place judged_from(const Seen& seen, Place stated) {
    return stated != Place::not_stated && seen.facing[at(stated)] > 0 ? stated : best_place(seen);
}

bool is_hidden(const Seen& seen, Place stated) {
    return seen.known && seen.share[at(judged_from(seen, stated))] < hidden_below;
}

std::vector<Hider> hiders(const Sights& sights, std::size_t fastener, const Arrangement& arrangement, Place place) {
    Drawn drawn(sights, arrangement);
    drawn.choose(sights.heads[fastener].body);
    const HeadSights& own = sights.cases[drawn.chosen()].heads[fastener];
    std::map<std::int32_t, Hider> by;
    std::vector<std::int32_t> standing;
    for (const Sight& sight : own.sights) {
        if (place == Place::not_stated ? sight.from == Place::inside : sight.from != place)
            continue;
        standing.clear();
        for (std::uint32_t i = sight.first; i < sight.first + sight.count; ++i)
            if (drawn.stands(own.bodies[i]))
                standing.push_back(own.bodies[i]);
        for (const std::int32_t body : standing) {
            Hider& hider = by[body];
            hider.body = body;
            hider.share += sight.weight / static_cast<double>(standing.size());
            hider.alone += standing.size() == 1 ? sight.weight : 0;
        }
    }
    std::vector<Hider> list;
    for (auto& [body, hider] : by) {
        hider.share /= own.free[at(place)];
        hider.alone /= own.free[at(place)];
        list.push_back(hider);
    }
    std::stable_sort(list.begin(), list.end(), [](const Hider& a, const Hider& b) { return a.share > b.share; });
    return list;
}

std::vector<HiddenHead> hidden_in(const Sights& sights, const Solids& solids, std::span<const Arrangement> states,
                                  std::size_t now) {
    const Map& map = *solids.map;
    std::vector<HiddenHead> list;
    if (now >= states.size())
        return list;
    const auto stated = [&](std::size_t i) { return map[map.fasteners[i].item].from; };
    const std::vector<Seen> present = seen(sights, states[now]);
    for (std::size_t i = 0; i < present.size(); ++i) {
        const Seen& seen = present[i];
        if (!seen.there || !is_hidden(seen, stated(i)))
            continue;
        HiddenHead one;
        one.fastener = i;
        one.from = judged_from(seen, stated(i));
        one.share = seen.share[at(one.from)];
        one.best = best_place(seen);
        one.best_share = seen.share[at(one.best)];
        one.by = hiders(sights, i, states[now], one.from);
        one.view = static_cast<std::int32_t>(now);
        one.view_from = one.from;
        one.view_share = one.share;
        list.push_back(std::move(one));
    }
    for (std::size_t s = now + 1; s < states.size(); ++s) {
        Drawn drawn(sights, states[s]);
        for (HiddenHead& one : list) {
            if (one.into_view >= 0 || one.gone >= 0)
                continue;
            const Seen seen = seen_by(sights, one.fastener, states[s], drawn);
            if (!seen.there) {
                one.gone = static_cast<std::int32_t>(s);
                continue;
            }
            const Place from = judged_from(seen, stated(one.fastener));
            const bool into_view = !is_hidden(seen, stated(one.fastener));
            if (into_view)
                one.into_view = static_cast<std::int32_t>(s);
            if (into_view || seen.share[at(from)] > one.view_share) {
                one.view = static_cast<std::int32_t>(s);
                one.view_from = from;
                one.view_share = seen.share[at(from)];
            }
        }
    }
    return list;
}

} // namespace boltwalk
