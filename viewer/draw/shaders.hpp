// All shaders. Nothing beyond GLSL ES 3.00, so that WebGL2 takes them; gl.cpp puts the version line before each.
// Places are view space: the eye at the origin, looking along -z, metres.
#pragma once

namespace boltwalk::shader {

// A node's matrix comes as the three rows of an affine matrix into view space. style: kind (0 plain, 1 next, 2 glass,
// 3 fading), strength of edges, unused, presence. Put before it: FACETED for meshes without normals, GLASS for what is
// ghosted. What is handed from vertex to fragment is kept short: the software renderer works it out for every triangle.
inline constexpr const char* MESH_VERTEX = R"(
in vec3 place;
in vec4 normal;
in vec4 row0;
in vec4 row1;
in vec4 row2;
in vec4 style;
uniform mat4 projection;
invariant gl_Position;
#ifdef FACETED
out vec3 v_place;
#else
out vec3 v_normal;
#endif
#ifdef GLASS
flat out vec2 v_style;
#endif
void main() {
    vec4 at = vec4(place, 1.0);
    vec3 seen = vec3(dot(row0, at), dot(row1, at), dot(row2, at));
#ifdef FACETED
    v_place = seen;
#else
    // Cofactors: right under any scale, and under a mirror up to the sign, which the fragment settles.
    v_normal = vec3(dot(cross(row1.xyz, row2.xyz), normal.xyz), dot(cross(row2.xyz, row0.xyz), normal.xyz),
                    dot(cross(row0.xyz, row1.xyz), normal.xyz));
#endif
#ifdef GLASS
    v_style = vec2(style.x * 255.0, style.w);
#endif
    gl_Position = projection * vec4(seen, 1.0);
}
)";

// The light stands over the viewer's left shoulder, so that a view from under is lit as well as one from above. Square
// roots and powers are few: on the software renderer this runs for every fragment, hidden ones too.
inline constexpr const char* MESH_FRAGMENT = R"(
#ifdef FACETED
in vec3 v_place;
#else
in vec3 v_normal;
#endif
#ifdef GLASS
flat in vec2 v_style;
uniform vec3 accent;
uniform vec4 glass;
#else
uniform vec2 tones; // black's, and what white has more
uniform float sheen;
#endif
uniform vec4 sight; // from a pixel to the direction in which it is seen: factor and shift
uniform vec3 colour;
out vec4 result;
void main() {
#ifdef FACETED
    vec3 n = cross(dFdx(v_place), dFdy(v_place));
#else
    vec3 n = v_normal;
#endif
    float towards = dot(n, vec3(gl_FragCoord.xy * sight.xy + sight.zw, -1.0));
    n *= inversesqrt(dot(n, n)) * (towards > 0.0 ? -1.0 : 1.0);
    float tone = 0.70 + 0.08 * n.y + 0.32 * max(dot(n, vec3(-0.42, 0.64, 0.64)), 0.0);
#ifdef GLASS
    float rim = 1.0 - clamp(n.z, 0.0, 1.0);
    vec3 own = glass.rgb * (0.72 + 0.36 * tone);
    float share = v_style.y;
    if (v_style.x > 2.5)
        own = colour * tone;
    else if (v_style.x < 1.5)
        own = accent * (0.35 + 0.72 * tone);
    else
        share *= glass.a + (1.0 - glass.a) * 0.5 * rim * rim * rim;
    result = vec4(own * share, share);
#else
    float gleam = max(dot(n, vec3(-0.232, 0.353, 0.906)), 0.0);
    gleam *= gleam;
    gleam *= gleam;
    gleam *= gleam;
    tone = (tones.x + tones.y * tone) * (0.86 + 0.14 * max(n.z, 0.0));
    result = vec4(colour * tone + sheen * gleam * gleam * gleam, 1.0);
#endif
}
)";

inline constexpr const char* FLAT_FRAGMENT = R"(
uniform vec4 colour;
out vec4 result;
void main() { result = colour; }
)";

/// Places alone: depth of glass, what is covered, and the bare triangles to measure against.
inline constexpr const char* BARE_VERTEX = R"(
in vec3 place;
in vec4 normal;
in vec4 row0;
in vec4 row1;
in vec4 row2;
uniform mat4 projection;
invariant gl_Position;
void main() {
    vec4 at = vec4(place, 1.0);
    vec3 v_place = vec3(dot(row0, at), dot(row1, at), dot(row2, at));
    gl_Position = projection * vec4(v_place, 1.0);
}
)";

/// Edges, as quads that lines.cpp laid out on the screen.
inline constexpr const char* LINE_VERTEX = R"(
in vec3 place;
in vec2 width;
in vec4 tint;
out vec2 v_width;
out vec4 v_colour;
void main() {
    v_width = width;
    v_colour = tint;
    gl_Position = vec4(place, 1.0);
}
)";

/// On glass, which has one sample a pixel: a rim of one pixel fades out. Premultiplied.
inline constexpr const char* SOFT_LINE_FRAGMENT = R"(
in vec2 v_width;
in vec4 v_colour;
out vec4 result;
void main() {
    float ink = v_colour.a * clamp(v_width.y - abs(v_width.x), 0.0, 1.0);
    result = vec4(v_colour.rgb * ink, ink);
}
)";

inline constexpr const char* COLOUR_FRAGMENT = R"(
in vec4 v_colour;
out vec4 result;
void main() { result = v_colour; }
)";

/// Strokes of paint: places in view space, colours.
inline constexpr const char* STROKE_VERTEX = R"(
in vec3 place;
in vec4 tint;
uniform mat4 projection;
out vec4 v_colour;
void main() {
    v_colour = tint;
    gl_Position = projection * vec4(place, 1.0);
}
)";

/// What is worked out a pixel at a time: corners of rectangles as shares of the picture, from its foot.
inline constexpr const char* SCREEN_VERTEX = R"(
in vec2 place;
out vec2 v_share;
void main() {
    v_share = place;
    gl_Position = vec4(place * 2.0 - 1.0, 0.0, 1.0);
}
)";

// Ambient occlusion, eight taps on a spiral turned pixel by pixel, at half size; SHADE_BLUR takes the turning out.
// Its idea: Bavoil, Sainz, "Screen Space Ambient Occlusion", 2008; the turning: Jimenez, SIGGRAPH 2014.
inline constexpr const char* SHADE_FRAGMENT = R"(
in vec2 v_share;
uniform sampler2D depth_map;
uniform ivec2 full_size;
uniform vec2 reach;     // tangents of half the field of view
uniform vec2 planes;    // near, far
uniform float radius;   // metres
out vec4 result;
// Golden angle, radii by the square root.
const vec2 SPIRAL[8] = vec2[8](vec2(0.25, 0.0), vec2(-0.319, 0.292), vec2(0.049, -0.557), vec2(0.402, 0.525),
                               vec2(-0.739, -0.131), vec2(0.700, -0.445), vec2(-0.234, 0.870), vec2(-0.446, -0.859));
float depth_at(ivec2 at) {
    float z = texelFetch(depth_map, clamp(at, ivec2(0), full_size - 1), 0).r;
    return planes.x * planes.y / (planes.y - z * (planes.y - planes.x));
}
vec3 place(ivec2 at, float depth) {
    return vec3(((vec2(at) + 0.5) / vec2(full_size) * 2.0 - 1.0) * reach * depth, -depth);
}
void main() {
    ivec2 at = ivec2(gl_FragCoord.xy) * 2;
    float depth = depth_at(at);
    if (depth > planes.y * 0.999) {
        result = vec4(1.0, 0.0, 0.0, 1.0);
        return;
    }
    vec3 here = place(at, depth);
    vec3 n = normalize(cross(dFdx(here), dFdy(here)));
    float span = radius / depth / reach.y * float(full_size.y) * 0.5;
    if (span < 2.0) {
        result = vec4(1.0, depth / planes.y, 0.0, 1.0);
        return;
    }
    span = min(span, 90.0);
    ivec2 cell = ivec2(gl_FragCoord.xy) & 3;
    float angle = float((cell.x * 4 + cell.y * 7) & 15) / 16.0 * 6.2831853;
    vec2 turn = vec2(cos(angle), sin(angle)) * span;
    float dark = 0.0;
    for (int i = 0; i < 8; ++i) {
        vec2 step = SPIRAL[i];
        ivec2 tap = at + ivec2(step.x * turn + step.y * vec2(-turn.y, turn.x));
        vec3 to = place(tap, depth_at(tap)) - here;
        float distance2 = dot(to, to);
        float rise = max(dot(to, n) - 0.004 * depth, 0.0);
        dark += rise * inversesqrt(distance2 + 1e-9) * max(0.0, 1.0 - distance2 / (radius * radius));
    }
    result = vec4(clamp(1.0 - dark / 8.0 * 1.9, 0.0, 1.0), depth / planes.y, 0.0, 1.0);
}
)";

// A box of 4 x 4 in one go along one axis: run twice.
inline constexpr const char* SHADE_BLUR_FRAGMENT = R"(
in vec2 v_share;
uniform sampler2D shade;
uniform ivec2 along;
out vec4 result;
void main() {
    ivec2 at = ivec2(gl_FragCoord.xy);
    ivec2 last = textureSize(shade, 0) - 1;
    vec2 here = texelFetch(shade, at, 0).rg;
    if (here.g == 0.0) { // paper, and beside it nothing may have been drawn at all
        result = vec4(1.0, 0.0, 0.0, 1.0);
        return;
    }
    float sum = 0.0, weight = 0.0;
    for (int i = -2; i < 2; ++i) {
        vec2 tap = texelFetch(shade, clamp(at + along * i, ivec2(0), last), 0).rg;
        float w = abs(tap.g - here.g) < 0.02 ? 1.0 : 0.001;
        sum += tap.r * w;
        weight += w;
    }
    result = vec4(sum / weight, here.g, 0.0, 1.0);
}
)";

// Over the resolved picture: its shade (alpha: what is left of what was there), and with WITH_GLASS the glass in front.
inline constexpr const char* OVER_FRAGMENT = R"(
in vec2 v_share;
uniform sampler2D shade;
uniform float darkest;
#ifdef WITH_GLASS
uniform sampler2D layer;
#endif
out vec4 result;
void main() {
    float left = mix(darkest, 1.0, texture(shade, v_share).r);
#ifdef WITH_GLASS
    vec4 glass = texelFetch(layer, ivec2(gl_FragCoord.xy), 0);
    result = vec4(glass.rgb, left * (1.0 - glass.a));
#else
    result = vec4(0.0, 0.0, 0.0, left);
#endif
}
)";

// Flat shapes over the picture, each a quad with its shape worked out a pixel at a time. All in pixels.
// kind 0: a letter (box.xy: corner in the atlas); 1: a box with rounded corners (box.xy half size, box.z radius, box.w
// rim's width); 2: a ring (box.x radius, box.y width, box.z dashes, 0 whole); 3: a triangle (box.xy, box.zw and third).
inline constexpr const char* SHAPE_VERTEX = R"(
in vec2 place;
in vec2 local;
in vec4 box;
in vec4 fill;
in vec4 rim;
in vec3 third;
uniform vec2 size_px;
out vec2 v_local;
flat out vec4 v_box;
flat out vec4 v_fill;
flat out vec4 v_rim;
flat out vec3 v_third;
void main() {
    v_local = local;
    v_box = box;
    v_fill = fill;
    v_rim = rim;
    v_third = third;
    gl_Position = vec4(place.x / size_px.x * 2.0 - 1.0, 1.0 - place.y / size_px.y * 2.0, 0.0, 1.0);
}
)";

inline constexpr const char* SHAPE_FRAGMENT = R"(
in vec2 v_local;
flat in vec4 v_box;
flat in vec4 v_fill;
flat in vec4 v_rim;
flat in vec3 v_third;
uniform sampler2D atlas;
out vec4 result;
float covered(float distance_px) { return clamp(0.5 - distance_px, 0.0, 1.0); }
float side(vec2 p, vec2 a, vec2 b, float turn) {
    vec2 along = normalize(b - a);
    return turn * dot(p - a, vec2(along.y, -along.x));
}
void main() {
    int kind = int(v_third.z + 0.5);
    if (kind == 0) {
        float ink = texelFetch(atlas, ivec2(v_box.xy + v_local), 0).r;
        result = vec4(v_fill.rgb, v_fill.a * ink);
    } else if (kind == 1) {
        vec2 q = abs(v_local) - v_box.xy + v_box.z;
        float d = length(max(q, 0.0)) + min(max(q.x, q.y), 0.0) - v_box.z;
        float inner = v_box.w > 0.0 ? covered(d + v_box.w) : covered(d);
        vec4 tint = mix(v_rim, v_fill, inner);
        result = vec4(tint.rgb, tint.a * covered(d));
    } else if (kind == 2) {
        float d = abs(length(v_local) - v_box.x) - v_box.y * 0.5;
        float ink = covered(d);
        if (v_box.z > 0.0) {
            float turn = fract(atan(v_local.y, v_local.x) / 6.2831853 * v_box.z);
            float arc = (abs(turn - 0.5) - 0.31) * 6.2831853 / v_box.z * v_box.x;
            ink *= covered(arc);
        }
        result = vec4(v_fill.rgb, v_fill.a * ink);
    } else {
        vec2 a = v_box.xy, b = v_box.zw, c = v_third.xy;
        float turn = sign((b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x));
        float d = max(max(side(v_local, a, b, turn), side(v_local, b, c, turn)), side(v_local, c, a, turn));
        result = vec4(v_fill.rgb, v_fill.a * covered(d));
    }
}
)";

} // namespace boltwalk::shader
