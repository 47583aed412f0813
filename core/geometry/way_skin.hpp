// A mesh as something that can be made smaller: where each corner goes when all faces move inwards. Sources of way and
// explode only.
#pragma once

#include <memory>
#include <vector>

#include <glm/glm.hpp>

#include "core/geometry/solids.hpp"

namespace boltwalk {

/// A corner sharper than this (whose faces meet at less than 39 degrees) moves no farther than this many insets, or it
/// would leave through the other side.
constexpr float longest_miter = 3;

/// What can be told of a mesh as a whole.
struct Sense {
    bool closed = false;     ///< every edge has its counterpart: there is an inside
    bool inside_out = false; ///< wound so that the volume is negative
};

Sense sense_of(const Tree&);

/// By vertex of the tree: `inward` times an inset in metres is how far it moves, in the axes
/// that `turn` brings into the world's; no corner moves by more than `most` insets, so that thin walls keep a middle.
struct Skin {
    std::vector<glm::vec3> inward;
    std::vector<float> most; ///< metres of inset
};

/// From a mesh's axes to the world's, parted into what sizes it and what turns it.
struct Turned {
    glm::dmat3 size{1.0};
    glm::dmat3 turn{1.0};
};
Turned turned(const glm::dmat4& world);

Skin make_skin(const Tree&, const Sense&, const glm::dmat3& size);

} // namespace boltwalk
