// A map from nothing: a recipe, which is a short text in TOML, becomes a .glb whose nodes carry the annotation.
//
//   block_out()      recipe in, map out, with everything that is wrong by line and column
//   recipe_words()   every word of a recipe that is none of the annotation's; recipe.md explains them (a test compares)
//
// Lengths are millimetres in a recipe and metres in the map; axes are glTF's (+X left, +Y up, +Z front). The same
// recipe gives the same bytes. Nothing is made up: what a recipe does not say is not stated in the map either. The
// shapes are an author's sketch, and so is whatever is estimated from them.
//
// Round things are drawn with flat sides. The corners of what is solid lie on its circle, the middles of the sides of
// what is hollow do: a shaft is never thicker than said, a hole never narrower.
//
// A library of its own (boltwalk_block), for it brings toml++. Weighed for the solids: Manifold is not in Debian 12,
// CGAL's Booleans and triangulations are GPL, GLU's tessellator comes with libGL, which core has no business with;
// earcut and poly2tri are packaged for neither release as a C++ library. So holes are part of a shape's outline from
// the start, and triangulate.cpp cuts ears, in whole numbers, hence exactly.
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/map/finding.hpp"

namespace boltwalk {

/// Something about one place of a recipe. Line and column count from 1 (columns in characters); 0: the whole of it.
struct RecipeNote {
    Weight weight = Weight::fault;
    int line = 0, column = 0;
    std::string what, remedy; ///< sentences; they hold names as the recipe has them: through printable() first
};
/// "first.toml:12:5: what remedy"; the weight stands before it where it is no fault.
std::string say(const std::string& file, const RecipeNote&);

struct Blocked {
    std::string glb;               ///< the map; empty while there is a fault
    bool is_toml = true;           ///< false: it could not even be read
    std::vector<RecipeNote> notes; ///< by line
    std::size_t parts = 0, fasteners = 0, tasks = 0, meshes = 0;
};
Blocked block_out(std::string_view recipe);

/// Where a word may stand, added up.
enum RecipePlace : unsigned {
    in_part = 1,     ///< a table with `part`, or one that is scenery
    in_piece = 2,    ///< a table inside a part's
    in_fastener = 4, ///< a table with `fastener`
    in_task = 8,
    in_group = 16,
    in_hole = 32, ///< an entry of `holes`
};
struct RecipeWord {
    std::string_view word;
    unsigned where; ///< RecipePlace
};
std::span<const RecipeWord> recipe_words();

/// No recipe is longer.
inline constexpr std::size_t longest_recipe = std::size_t{1} << 20;
/// No recipe makes more items, or corners of triangles.
inline constexpr std::size_t most_items = 5000;
inline constexpr std::size_t most_corners = 3'000'000;

} // namespace boltwalk
