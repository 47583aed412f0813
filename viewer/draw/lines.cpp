// Which edges of a frame show, and their quads. Done here rather than in a vertex shader: the software renderer took a
// third of a frame to run one over edges of which it then drew a tenth, and most of them are smooth ones that are no
// outline from this side.
#include <algorithm>
#include <array>
#include <cmath>

#include <glm/gtc/matrix_inverse.hpp>

#include "viewer/draw/drawing.hpp"

namespace boltwalk {

namespace {

/// By so many pixels' width lines come nearer to the eye than their faces, along the sight: enough for half a line's
/// width on a face that falls away by 45 degrees, and little enough for what lies behind a thin sheet to stay there.
constexpr float NEARER_PX = 0.85F;
constexpr float END_SHARE = 0.6F;      ///< of half its width that a line goes on beyond its ends, so that corners close
constexpr float SOFT_END_SHARE = 0.2F; ///< the same on glass, where two ends over each other show
constexpr float LONG_PX = 4;           ///< at scale 1: pieces of a run are put together until they are so long
constexpr float RUN_COSINE = 0.82F;    ///< and while they turn by less than 35 degrees: a third of a pixel is cut off
constexpr float NEXT_WIDER = 1.25F;
constexpr float WHOLE_WIDER = 2.4F;    ///< of which the inner half does not show (Pass::around_whole)
constexpr float GLASS_SHORTEST_PX = 3; ///< behind glass and on it the small is left out
constexpr float SHORTEST_PX = 2.2F;    ///< at scale 1: shorter runs belong to features of a few pixels, all noise

/// Every normal that a code may stand for, decoded once.
const std::vector<glm::vec3>& normals() {
    static const std::vector<glm::vec3> table = [] {
        std::vector<glm::vec3> made(65536);
        for (unsigned i = 0; i < 65536; ++i) {
            const std::array<std::uint8_t, 2> code{static_cast<std::uint8_t>(i & 255U),
                                                   static_cast<std::uint8_t>(i >> 8U)};
            made[i] = octahedral_normal(code.data());
        }
        return made;
    }();
    return table;
}

const glm::vec3& normal_of(const std::uint8_t code[2]) {
    return normals()[static_cast<std::size_t>(code[0]) | (static_cast<std::size_t>(code[1]) << 8U)];
}

/// One node's edges into quads.
struct Liner {
    std::vector<LineCorner>& full;
    std::vector<LineCorner>& faint;
    glm::vec2 half_size; ///< of the picture, pixels
    glm::vec2 zoom;      ///< from view space to clip space
    glm::vec2 depth;     ///< clip z = depth.x * z + depth.y
    float near;
    float nearer; ///< share of a place's distance
    float shortest_px;
    float rim_px; ///< soft, beyond half a width
    float end_share;
    const Veil* veil; ///< lines behind it are left out; null: none

    glm::vec4 clip(const glm::vec3& p) const { return {p.x * zoom.x, p.y * zoom.y, depth.x * p.z + depth.y, -p.z}; }

    /// From one to the other on the screen; far longer than it when one lies behind the eye.
    glm::vec2 way_px(const glm::vec3& a, const glm::vec3& b) const {
        if (a.z > -near || b.z > -near)
            return glm::vec2(1e6F);
        return (glm::vec2(b) / -b.z - glm::vec2(a) / -a.z) * zoom * half_size;
    }

    void add(glm::vec3 a, glm::vec3 b, float half_width, Colour tint) {
        a *= 1 - nearer;
        b *= 1 - nearer;
        if (a.z > -near && b.z > -near)
            return;
        if (a.z > -near)
            a = glm::mix(a, b, (a.z + near) / (a.z - b.z));
        if (b.z > -near)
            b = glm::mix(b, a, (b.z + near) / (b.z - a.z));
        const glm::vec4 from = clip(a);
        const glm::vec4 to = clip(b);
        if ((from.x > from.w && to.x > to.w) || (from.x < -from.w && to.x < -to.w) ||
            (from.y > from.w && to.y > to.w) || (from.y < -from.w && to.y < -to.w))
            return;
        const glm::vec2 way = (glm::vec2(to) / to.w - glm::vec2(from) / from.w) * half_size;
        const float length = glm::length(way);
        if (length < shortest_px || (veil != nullptr && veil->hides(a, b, 2 * half_width)))
            return;
        const glm::vec2 along = way / std::max(length, 1e-4F);
        const float reach = half_width + rim_px;
        const glm::vec2 across = glm::vec2(-along.y, along.x) * reach / half_size;
        const glm::vec2 beyond = along * (half_width * end_share) / half_size;
        auto& corners = tint.a == 255 ? full : faint;
        for (const auto& [end, forward, side] :
             {std::tuple{&from, -1.0F, -1.0F}, {&from, -1.0F, 1.0F}, {&to, 1.0F, -1.0F}, {&to, 1.0F, 1.0F}}) {
            const glm::vec2 place = glm::vec2(*end) / end->w + across * side + beyond * forward;
            corners.push_back({{place.x, place.y, end->z / end->w}, reach * side, reach, tint});
        }
    }
};

Colour faded(Colour colour, int strength, int presence) {
    colour.a = static_cast<std::uint8_t>(colour.a * strength / 255 * presence / 255);
    return colour;
}

void add_node(Liner& liner, const Mesh& mesh, const MeshEdges& edges, const Instance& instance,
              const LineStyle& style) {
    glm::mat4 to_view(1.0F);
    for (int row = 0; row < 3; ++row)
        for (int column = 0; column < 4; ++column)
            to_view[column][row] = instance.rows[static_cast<std::size_t>(row)][static_cast<std::size_t>(column)];
    const glm::dmat4 back = glm::affineInverse(glm::dmat4(to_view));
    const glm::vec3 eye(back[3]);
    const glm::vec3 low(mesh.low[0], mesh.low[1], mesh.low[2]);
    const glm::vec3 step = (glm::vec3(mesh.high[0], mesh.high[1], mesh.high[2]) - low) / 65535.0F;
    const bool is_next = instance.style[0] == static_cast<std::uint8_t>(Kind::next);
    const int strength = instance.style[1];
    const int presence = instance.style[3];
    const float wider = style.around ? WHOLE_WIDER : is_next ? NEXT_WIDER : 1.0F;
    const float outline_width = static_cast<float>(style.outline_px) / 2 * wider;
    const float crease_width = static_cast<float>(style.crease_px) / 2 * wider;
    const Colour outline = faded(is_next || style.around ? style.next : style.outline, strength, presence);
    const Colour crease = faded(is_next ? style.next : style.crease, strength, presence);
    const glm::mat3 turn(to_view);
    const glm::vec3 origin(to_view[3]);
    const float long_px = LONG_PX * static_cast<float>(style.scale);
    // What has been put together of a run so far.
    struct {
        glm::vec3 from{0.0F}, to{0.0F};
        glm::vec2 first{0.0F}; ///< piece on the screen
        float length_px = 0;
        const std::uint16_t* end = nullptr;
        bool is_outline = false;
    } run;
    const auto finish = [&] {
        if (run.end != nullptr)
            liner.add(run.from, run.to, run.is_outline ? outline_width : crease_width,
                      run.is_outline ? outline : crease);
        run.end = nullptr;
    };
    for (std::size_t i = 0; i < edges.edges.size(); ++i) {
        const MeshEdges::Edge& edge = edges.edges[i];
        const glm::vec3 from = low + step * glm::vec3(edge.from[0], edge.from[1], edge.from[2]);
        // Both faces are judged from one end, so that a face is in front or behind for all its edges alike.
        const glm::vec3 sight = eye - from;
        const bool left = glm::dot(normal_of(edge.left), sight) > 0;
        const bool right = glm::dot(normal_of(edge.right), sight) > 0;
        if (left == right && (i >= edges.crease_count || (!left && edges.closed)))
            continue;
        const glm::vec3 to = low + step * glm::vec3(edge.to[0], edge.to[1], edge.to[2]);
        const bool is_outline = left != right;
        if (style.around && !is_outline)
            continue;
        const glm::vec3 start = turn * from + origin;
        const glm::vec3 end = turn * to + origin;
        const glm::vec2 way = liner.way_px(start, end);
        const float length_px = glm::length(way);
        const bool goes_on = run.end != nullptr && run.is_outline == is_outline && run.length_px < long_px &&
                             std::equal(edge.from, edge.from + 3, run.end) &&
                             glm::dot(way, run.first) > RUN_COSINE * length_px * glm::length(run.first);
        if (!goes_on) {
            finish();
            run.from = start;
            run.first = way;
            run.length_px = 0;
            run.is_outline = is_outline;
        }
        run.to = end;
        run.length_px += length_px;
        run.end = edge.to;
    }
    finish();
}

} // namespace

void add_lines(std::vector<LineCorner>& full, std::vector<LineCorner>& faint, const Stage& stage,
               const Prepared& prepared, const std::vector<Batch>& batches, const Projection& projection,
               const LineStyle& style) {
    const glm::dmat4& p = projection.projection;
    Liner liner{full,
                faint,
                glm::vec2(projection.size_px) * 0.5F,
                {static_cast<float>(p[0][0]), static_cast<float>(p[1][1])},
                {static_cast<float>(p[2][2]), static_cast<float>(p[3][2])},
                static_cast<float>(projection.near_m),
                NEARER_PX * static_cast<float>(style.scale * 2 / (projection.size_px.y * p[1][1])),
                (style.glass ? GLASS_SHORTEST_PX : SHORTEST_PX) * static_cast<float>(style.scale),
                style.glass ? 0.5F : 0.0F,
                style.glass ? SOFT_END_SHARE : END_SHARE,
                prepared.veil ? &*prepared.veil : nullptr};
    for (const Batch& batch : batches) {
        const auto mesh = static_cast<std::size_t>(batch.mesh);
        for (std::size_t i = 0; i < batch.edge_count; ++i)
            add_node(liner, stage.map->meshes[mesh], stage.edges[mesh], prepared.instances[batch.edge_first + i],
                     style);
    }
}

} // namespace boltwalk
