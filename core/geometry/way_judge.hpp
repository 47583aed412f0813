// One mover against everything: how deep it lies in what at rest, and what it meets along a leg. Sources of way and
// explode only.
#pragma once

#include <map>
#include <span>
#include <vector>

#include "core/geometry/way_sweep.hpp"

namespace boltwalk {

/// A tree over a box's twelve triangles.
Tree box_tree(const Bounds&);

/// An answer with nothing in it but what is known without sweeping.
WaysOut begin_answer(const Solids&, const WayAsked&);

class WayJudge {
public:
    WayJudge(const WaySpace& space, Mover mover, bool gives_way)
        : space_(space), mover_(std::move(mover)), gives_way_(gives_way) {}

    const Mover& mover() const { return mover_; }
    const WaySpace& space() const { return space_; }

    /// From where `offset` has brought it, along `leg`; of what is there.
    LegAnswer sweep(const glm::dvec3& offset, const glm::dvec3& leg, std::span<const std::uint8_t> there = {});

    /// Turned in its place, does it go deeper into anything than at rest? Judged as a sweep is.
    LegAnswer in_place(const Mover& turned, std::span<const std::uint8_t> there = {});

    /// How deep the two lie in one another at rest, rounded up to a level, or `deep`.
    static constexpr double deep = 1e9;
    /// Of each, worked out together so that the mover is posed once for a level and no pose is kept.
    std::vector<double> rests_mm(std::span<const Standing>);

    int queries = 0; ///< legs swept and turns tried so far

private:
    struct Sunk {
        Verdict verdict = Verdict::free;
        double after_mm = 0;
    };
    Sunk enters_anew(const Standing&, const WayFrame&, const glm::dvec3& offset, double length);
    bool is_soft(const Standing&) const;
    std::size_t key_of(const Standing&) const;

    const WaySpace& space_;
    Mover mover_;
    bool gives_way_;
    std::map<std::size_t, double> rest_mm_; ///< by body, then by obstacle
};

} // namespace boltwalk
