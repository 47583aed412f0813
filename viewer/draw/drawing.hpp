// What a drawing holds, and the passes of a frame in the order in which they run; no other module includes this.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "viewer/draw/gl.hpp"
#include "viewer/draw/shapes.hpp"
#include "viewer/draw/store.hpp"

namespace boltwalk {

struct Programs {
    gl::Program mesh, mesh_faceted, glass, glass_faceted, flat, line, soft_line, stroke, shade, shade_blur, over,
        over_glass, shape;
};

/// What is drawn into; made anew when the picture's size changes.
struct Targets {
    int width = 0, height = 0;
    int samples = 0;
    gl::Framebuffer many, depth_only, layer, shade_a, shade_b;
    gl::Renderbuffer colour, depth;
    gl::Texture depth_map, layer_map, shade_a_map, shade_b_map;
};

/// Instances of one mesh that are drawn alike. Offsets into the frame's instance buffer.
struct Batch {
    std::int32_t mesh = -1;
    bool mirrored = false; ///< the matrix turns the mesh inside out
    std::size_t first = 0, count = 0;
    std::size_t edge_first = 0, edge_count = 0; ///< those large enough on the screen for edges
};

/// A frame made ready: who is drawn how.
struct Prepared {
    std::vector<Instance> instances;
    std::vector<Batch> solid, glass;
    std::vector<Batch> next;      ///< of what is next, what is in plain sight
    std::vector<Batch> hidden;    ///< and what is covered: drawn through whatever is left before it
    std::vector<double> in_sight; ///< by Frame::next
};

/// Triangles of a mesh that are large enough to hide other nodes, three corners each.
struct Sheets {
    std::vector<glm::vec3> from_outside, from_both; ///< from the sides from which they are drawn
};
std::vector<Sheets> sheets_of(const Stage&); ///< by mesh

/// How near the nearest sheet is, cell by cell of the picture.
class Veil {
public:
    explicit Veil(const Projection&);
    void add(const Sheets&, const Instance&, bool mirrored);
    bool hides(const Bounds& world) const; ///< no part of it can be seen

private:
    glm::vec3 on_grid(const glm::vec3& in_view) const;
    void add_triangle(const glm::vec3& a, const glm::vec3& b, const glm::vec3& c, bool both_sides, bool mirrored);
    glm::dmat4 view_;
    float near_;
    int width_, height_;
    glm::vec2 zoom_, middle_;
    std::vector<float> nearness_;
};

struct Drawing {
    const Stage* stage = nullptr;
    std::vector<Sheets> sheets;
    Store store;
    Programs programs;
    Targets targets;
    gl::Buffer instance_buffer, stroke_buffer, shape_buffer, line_buffer, quad_indices;
    gl::VertexArray empty_array, stroke_array, shape_array, line_array;
    gl::Texture atlas_map;
    Atlas atlas;
    std::optional<Frame> last; ///< the frame drawn last
    FrameCost cost;            ///< of it
};

constexpr std::size_t QUADS_A_CALL = 16384; ///< as many as 16-bit indices reach: Drawing::quad_indices
void fit_targets(Targets&, int width, int height);

/// Without sheets nothing is left out because other things hide it.
Prepared prepare_frame(const Stage&, const Frame&, const Projection&, const std::vector<Sheets>* sheets);

/// A corner of an edge's quad; four an edge.
struct LineCorner {
    std::array<float, 3> place; ///< normalised device coordinates
    float across;               ///< pixels from the line's middle
    float reach;                ///< pixels from its middle to where it ends, a soft rim included
    Colour tint;
};
struct LineStyle {
    Colour outline, crease, next;
    double outline_px = 1, crease_px = 1;
    double scale = 1;
    bool glass = false;
};
/// The edges that show of those instances that have edges: creases that do not face away, and outlines.
/// The faint ones are those that must be blended.
void add_lines(std::vector<LineCorner>& full, std::vector<LineCorner>& faint, const Stage&, const Prepared&,
               const std::vector<Batch>&, const Projection&, const LineStyle&);

struct StrokeCorner {
    glm::vec3 place;
    Colour tint;
};
/// The paint-pen strokes of a frame as triangles in view space.
std::vector<StrokeCorner> strokes_of(const Stage&, const Frame&, const Projection&);

} // namespace boltwalk
