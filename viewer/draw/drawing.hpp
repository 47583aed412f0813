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
    std::vector<std::pair<gl::Program Programs::*, gl::BegunProgram>> begun; ///< and not waited for yet
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

/// A place of an instance's mesh in view space.
inline glm::vec3 in_view_of(const Instance& instance, const glm::vec3& p) {
    const auto along = [&](std::size_t row) {
        const auto& r = instance.rows[row];
        return r[0] * p.x + r[1] * p.y + r[2] * p.z + r[3];
    };
    return {along(0), along(1), along(2)};
}
inline glm::vec3 corner_of(const Bounds& box, unsigned corner) {
    return {(corner & 1U) != 0 ? box.high.x : box.low.x, (corner & 2U) != 0 ? box.high.y : box.low.y,
            (corner & 4U) != 0 ? box.high.z : box.low.z};
}

/// Triangles of a mesh that are large enough to hide other nodes, three corners each, and where all of them are.
struct Sheets {
    std::vector<glm::vec3> from_outside, from_both; ///< from the sides from which they are drawn
    std::vector<Bounds> boxes; ///< around all its triangles, several where it is large: nearer to its shape than one
};
std::vector<Sheets> sheets_of(const Stage&); ///< by mesh

/// How near the nearest sheet is, cell by cell of the picture.
class Veil {
public:
    Veil(const Projection&, double scale);
    void add(const Sheets&, const Instance&, bool mirrored);
    void close();                                     ///< when all are added
    bool hides(const Sheets&, const Instance&) const; ///< no part of that node can be seen
    /// The same of a line in view space, up to so many pixels wide; both ends lie before the near plane.
    bool hides(const glm::vec3& from, const glm::vec3& to, float width_px) const;

private:
    glm::vec3 on_grid(const glm::vec3& in_view) const;
    void add_triangle(const glm::vec3& a, const glm::vec3& b, const glm::vec3& c, bool both_sides, bool mirrored);
    bool hides(const Bounds&, const Instance&) const;
    float near_, cell_px_;
    int width_, height_;
    glm::vec2 zoom_, middle_;
    std::vector<float> nearness_, around_; ///< of each cell; the least of it and of those beside it
};

struct StrokeCorner {
    glm::vec3 place;
    Colour tint;
};
/// The paint-pen strokes of a frame as triangles in view space.
std::vector<StrokeCorner> strokes_of(const Stage&, const Frame&, const Projection&);

/// Where in the picture anything is drawn, from the foot up as OpenGL counts.
struct Bands {
    std::vector<Rect> rows; ///< one below the other, those without anything left out
    Rect all;               ///< around them
};

/// A frame made ready: who is drawn how.
struct Prepared {
    std::vector<Instance> instances;
    std::vector<Batch> solid, glass;
    std::vector<Batch> whole;     ///< of what is solid, what is outlined as one thing, of however many nodes
    std::vector<Batch> next;      ///< of what is next, what is in plain sight
    std::vector<Batch> hidden;    ///< and what is covered: drawn through whatever is left before it
    std::vector<double> in_sight; ///< by Frame::next
    std::vector<StrokeCorner> strokes;
    std::optional<Veil> veil; ///< of what is solid; none where nothing is to be left out
    Bands bands;
};

struct Drawing {
    const Stage* stage = nullptr;
    std::vector<Sheets> sheets;
    Store store;
    ProgramsHandle programs;
    Targets targets;
    gl::Buffer instance_buffer, stroke_buffer, shape_buffer, line_buffer, band_buffer, quad_indices;
    gl::VertexArray stroke_array, shape_array, line_array, band_array;
    gl::Texture atlas_map;
    Atlas atlas;
    std::optional<Frame> last; ///< the frame drawn last
    FrameCost cost;            ///< of it
};

constexpr std::size_t QUADS_A_CALL = 16384; ///< as many as 16-bit indices reach: Drawing::quad_indices
void fit_targets(Targets&, int width, int height);

/// With `all` nothing is left out because other things hide it.
Prepared prepare_frame(const Stage&, const Frame&, const Projection&, const std::vector<Sheets>&, bool all = false);

/// Of everything in the batches and strokes, their lines included; `scale` as in the frame.
Bands bands_of(const std::vector<Sheets>&, const Prepared&, const Projection&, double scale);

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
    bool around = false; ///< outlines alone, all in `next`
};
/// The edges that show of those instances that have edges: creases that do not face away, and outlines.
/// The faint ones are those that must be blended.
void add_lines(std::vector<LineCorner>& full, std::vector<LineCorner>& faint, const Stage&, const Prepared&,
               const std::vector<Batch>&, const Projection&, const LineStyle&);

} // namespace boltwalk
