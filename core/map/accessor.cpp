// From an accessor to positions, normals and indices: a view into the file where its layout will do, else a decoded
// copy. Source of the layouts: glTF 2.0 specification, section 3.6.2; KHR_mesh_quantization for whole-number positions.

#include <algorithm>
#include <cmath>
#include <cstring>
#include <limits>

#include <fmt/format.h>

#include "core/map/gltf.hpp"

namespace boltwalk {

namespace {

constexpr int component_i8 = 5120;
constexpr int component_u8 = 5121;
constexpr int component_i16 = 5122;
constexpr int component_u16 = 5123;
constexpr int component_u32 = 5125;
constexpr int component_f32 = 5126;

std::size_t component_bytes(int component) {
    switch (component) {
    case component_i8:
    case component_u8:
        return 1;
    case component_i16:
    case component_u16:
        return 2;
    case component_u32:
    case component_f32:
        return 4;
    default:
        return 0;
    }
}

int components_of(std::string_view type) {
    if (type == "SCALAR") {
        return 1;
    }
    if (type == "VEC2") {
        return 2;
    }
    if (type == "VEC3") {
        return 3;
    }
    return type == "VEC4" ? 4 : 0;
}

bool is_aligned(const std::byte* data, std::size_t stride, std::size_t to) {
    return reinterpret_cast<std::uintptr_t>(data) % to == 0 && stride % to == 0;
}

template <typename T>
T load(const std::byte* at) {
    T value;
    std::memcpy(&value, at, sizeof value);
    return value;
}

/// One component as glTF 2.0 section 3.6.2.2 has it: f = max(c / 127, -1) for a normalised signed byte and so on.
float component_value(const std::byte* at, int component, bool normalized) {
    switch (component) {
    case component_i8: {
        const float c = load<std::int8_t>(at);
        return normalized ? std::max(c / 127.0F, -1.0F) : c;
    }
    case component_u8: {
        const float c = load<std::uint8_t>(at);
        return normalized ? c / 255.0F : c;
    }
    case component_i16: {
        const float c = load<std::int16_t>(at);
        return normalized ? std::max(c / 32767.0F, -1.0F) : c;
    }
    case component_u16: {
        const float c = load<std::uint16_t>(at);
        return normalized ? c / 65535.0F : c;
    }
    case component_f32:
        return load<float>(at);
    default:
        return 0;
    }
}

std::uint32_t index_value(const std::byte* at, int component) {
    switch (component) {
    case component_u8:
        return load<std::uint8_t>(at);
    case component_u16:
        return load<std::uint16_t>(at);
    default:
        return load<std::uint32_t>(at);
    }
}

/// Whether `count` elements of `size` bytes, `stride` apart, end within `available` bytes, whatever the numbers.
bool fits(std::size_t count, std::size_t size, std::size_t stride, std::size_t available) {
    if (count == 0) {
        return true;
    }
    return size <= available && (count - 1) <= (available - size) / stride;
}

/// The bytes of `count` elements in a view, checked.
bool fetch_elements(Gltf& gltf, int view, std::size_t offset, std::size_t count, std::size_t size,
                    const std::string& where, const std::byte*& data, std::size_t& stride) {
    std::span<const std::byte> bytes;
    if (!fetch_view(gltf, static_cast<std::size_t>(view), where, bytes, stride)) {
        return false;
    }
    if (stride == 0) {
        stride = size;
    }
    if (stride < size) {
        return gltf.refuse(
            fmt::format("{}: elements of {} bytes stand {} bytes apart. Export the map again", where, size, stride));
    }
    if (offset > bytes.size() || !fits(count, size, stride, bytes.size() - offset)) {
        return gltf.refuse(
            fmt::format("{}: {} elements of {} bytes are asked from byte {} of buffer view {}, which has "
                        "{} bytes. Export the map again",
                        where, count, size, offset, view, bytes.size()));
    }
    data = bytes.data() + offset;
    return true;
}

/// The elements that a sparse accessor replaces: places strictly increasing, values as the accessor has them.
struct Replaced {
    std::size_t count = 0;
    const std::byte* places = nullptr;
    std::size_t place_stride = 0;
    int place_component = 0;
    const std::byte* values = nullptr;
    std::size_t value_stride = 0;
};

bool fetch_replaced(Gltf& gltf, const Accessor& accessor, std::size_t element, const std::string& where,
                    Replaced& out) {
    const std::string here = where + ", its sparse part";
    const TokenId places = find_member(gltf.json, accessor.sparse, "indices");
    const TokenId values = find_member(gltf.json, accessor.sparse, "values");
    int place_view = -1;
    int value_view = -1;
    std::size_t place_offset = 0;
    std::size_t value_offset = 0;
    std::size_t component = 0;
    const std::size_t views = gltf.view_tokens.size();
    if (!read_size(gltf, accessor.sparse, "count", here, out.count) ||
        !read_index(gltf, places, "bufferView", views, here, place_view) ||
        !read_size(gltf, places, "byteOffset", here, place_offset) ||
        !read_size(gltf, places, "componentType", here, component) ||
        !read_index(gltf, values, "bufferView", views, here, value_view) ||
        !read_size(gltf, values, "byteOffset", here, value_offset)) {
        return false;
    }
    out.place_component = component <= component_f32 ? static_cast<int>(component) : 0;
    if (out.place_component != component_u8 && out.place_component != component_u16 &&
        out.place_component != component_u32) {
        return gltf.refuse(
            fmt::format("{}: component type {} is none of indices. Export the map again", here, component));
    }
    if (place_view < 0 || value_view < 0 || out.count > accessor.count) {
        return gltf.refuse(here + ": it is not complete. Export the map again");
    }
    const std::size_t place_size = component_bytes(out.place_component);
    return fetch_elements(gltf, place_view, place_offset, out.count, place_size, here, out.places, out.place_stride) &&
           fetch_elements(gltf, value_view, value_offset, out.count, element, here, out.values, out.value_stride);
}

/// Calls `put(place, bytes of the value)` for every replaced element.
template <typename Put>
bool replace(Gltf& gltf, const Accessor& accessor, std::size_t element, const std::string& where, const Put& put) {
    Replaced replaced;
    if (!fetch_replaced(gltf, accessor, element, where, replaced) || !gltf.spend(replaced.count, where)) {
        return false;
    }
    for (std::size_t i = 0; i < replaced.count; ++i) {
        const std::uint32_t place = index_value(replaced.places + i * replaced.place_stride, replaced.place_component);
        if (place >= accessor.count) {
            return gltf.refuse(fmt::format("{}, its sparse part: element {} of {} is to be replaced. Export the map "
                                           "again",
                                           where, place, accessor.count));
        }
        put(place, replaced.values + i * replaced.value_stride);
    }
    return true;
}

/// The largest of tightly packed indices. A plain loop over one type, so that the compiler makes vectors of it.
template <typename T>
std::uint32_t largest_of(const std::byte* data, std::size_t count) {
    const T* values = reinterpret_cast<const T*>(data);
    T largest = 0;
    for (std::size_t i = 0; i < count; ++i) {
        largest = std::max(largest, values[i]);
    }
    return largest;
}

/// Whether every float is finite: its exponent is not all ones.
bool all_finite(const std::byte* data, std::size_t floats) {
    const auto* bits = reinterpret_cast<const std::uint32_t*>(data);
    std::uint32_t found = 0;
    for (std::size_t i = 0; i < floats; ++i) {
        found |= static_cast<std::uint32_t>((bits[i] & 0x7f800000U) == 0x7f800000U);
    }
    return found == 0;
}

} // namespace

bool Gltf::spend(std::size_t values, const std::string& where) {
    if (values > work_per_byte * bytes_read + budget_floor - work) {
        return refuse(where + ": the same bytes are named over and over, by too many accessors and primitives. Export "
                              "the map again");
    }
    work += values;
    return true;
}

std::byte* Gltf::own(std::size_t size, const std::string& where) {
    if (size > own_bytes_per_byte * bytes_read + budget_floor - own_bytes) {
        refuse(where + ": decoded, it is many times larger than the file. Export the map without sparse or shared "
                       "accessors");
        return nullptr;
    }
    own_bytes += size;
    store->blocks.push_back(make_block(size));
    return store->blocks.back().bytes.get();
}

bool fetch_accessor(Gltf& gltf, std::size_t index, const std::string& where, Accessor& out) {
    if (gltf.accessors[index].known) {
        out = gltf.accessors[index];
        return true;
    }
    const TokenId token = gltf.accessor_tokens[index];
    Accessor accessor;
    std::size_t component = 0;
    std::size_t offset = 0;
    int view = -1;
    if (!read_size(gltf, token, "componentType", where, component) ||
        !read_size(gltf, token, "count", where, accessor.count) ||
        !read_size(gltf, token, "byteOffset", where, offset) ||
        !read_index(gltf, token, "bufferView", gltf.view_tokens.size(), where, view)) {
        return false;
    }
    accessor.component = component <= component_f32 ? static_cast<int>(component) : 0;
    const std::size_t bytes = component_bytes(accessor.component);
    const TokenId type = find_member(gltf.json, token, "type");
    accessor.components = gltf.json.is(type, JsonKind::text) ? components_of(text_of(gltf.json, type)) : 0;
    if (bytes == 0 || accessor.components == 0) {
        return gltf.refuse(where + ": its type or componentType is none that geometry has. Export the map again");
    }
    if (accessor.count >= std::numeric_limits<std::uint32_t>::max()) {
        return gltf.refuse(
            fmt::format("{}: {} elements are too many. Split or simplify the mesh", where, accessor.count));
    }
    accessor.normalized = gltf.json.is(find_member(gltf.json, token, "normalized"), JsonKind::yes);
    accessor.sparse = find_member(gltf.json, token, "sparse");
    if (view >= 0) {
        if (!fetch_elements(gltf, view, offset, accessor.count, bytes * static_cast<std::size_t>(accessor.components),
                            where, accessor.data, accessor.stride)) {
            return false;
        }
    } else if (accessor.sparse == no_token && accessor.count > 0) {
        return gltf.refuse(where + ": it has no buffer view, so nothing to read. If the geometry is compressed, export "
                                   "it without compression");
    }
    accessor.known = true;
    gltf.accessors[index] = accessor;
    out = accessor;
    return true;
}

bool fetch_vectors(Gltf& gltf, std::size_t index, const std::string& where, Strided<Vec3>& out) {
    if (gltf.vectors[index]) {
        out = *gltf.vectors[index];
        return true;
    }
    Accessor accessor;
    if (!fetch_accessor(gltf, index, where, accessor)) {
        return false;
    }
    if (accessor.components != 3 || accessor.component == component_u32) {
        return gltf.refuse(where + ": it should be three floats (or bytes or shorts) an element. Export the map again");
    }
    const std::size_t bytes = component_bytes(accessor.component);
    const bool as_is = accessor.component == component_f32 && accessor.sparse == no_token &&
                       is_aligned(accessor.data, accessor.stride, alignof(float));
    Strided<Vec3> vectors{accessor.data, accessor.count, accessor.stride};
    if (!as_is) {
        std::byte* copy = gltf.own(accessor.count * sizeof(Vec3), where);
        if (copy == nullptr || !gltf.spend(accessor.count, where)) {
            return false;
        }
        const auto decode = [&](std::size_t place, const std::byte* from) {
            std::array<float, 3> value{};
            for (std::size_t axis = 0; axis < 3; ++axis) {
                value[axis] = component_value(from + axis * bytes, accessor.component, accessor.normalized);
            }
            std::memcpy(copy + place * sizeof(Vec3), value.data(), sizeof(Vec3));
        };
        if (accessor.data == nullptr) {
            std::memset(copy, 0, accessor.count * sizeof(Vec3));
        } else {
            for (std::size_t i = 0; i < accessor.count; ++i) {
                decode(i, accessor.data + i * accessor.stride);
            }
        }
        if (accessor.sparse != no_token && !replace(gltf, accessor, 3 * bytes, where, decode)) {
            return false;
        }
        vectors = {copy, accessor.count, sizeof(Vec3)};
    }
    gltf.vectors[index] = vectors;
    out = vectors;
    return true;
}

bool is_finite(const Strided<Vec3>& vectors) {
    if (vectors.stride == sizeof(Vec3)) {
        return all_finite(vectors.data, vectors.count * 3);
    }
    for (std::size_t i = 0; i < vectors.count; ++i) {
        if (!all_finite(vectors.data + i * vectors.stride, 3)) {
            return false;
        }
    }
    return true;
}

bool fetch_indices(Gltf& gltf, std::size_t index, const std::string& where, Indices& out) {
    if (gltf.indices[index]) {
        out = *gltf.indices[index];
        return true;
    }
    Accessor accessor;
    if (!fetch_accessor(gltf, index, where, accessor)) {
        return false;
    }
    const bool whole = accessor.component == component_u8 || accessor.component == component_u16 ||
                       accessor.component == component_u32;
    if (!whole || accessor.components != 1) {
        return gltf.refuse(where + ": indices should be single unsigned bytes, shorts or whole numbers. Export the map "
                                   "again");
    }
    if (!gltf.spend(accessor.count, where)) {
        return false;
    }
    const std::size_t bytes = component_bytes(accessor.component);
    Indices indices{accessor.data, accessor.count, accessor.component == component_u32 ? 4 : 2, 0};
    const auto size = static_cast<std::size_t>(indices.size);
    const bool as_is = bytes == size && accessor.stride == bytes && accessor.sparse == no_token &&
                       is_aligned(accessor.data, accessor.stride, bytes);
    if (!as_is) {
        std::byte* copy = gltf.own(accessor.count * size, where);
        if (copy == nullptr) {
            return false;
        }
        const auto decode = [&](std::size_t place, const std::byte* from) {
            const std::uint32_t value = index_value(from, accessor.component);
            const auto narrow = static_cast<std::uint16_t>(value);
            std::memcpy(copy + place * size, size == 4 ? static_cast<const void*>(&value) : &narrow, size);
        };
        if (accessor.data == nullptr) {
            std::memset(copy, 0, accessor.count * size);
        } else {
            for (std::size_t i = 0; i < accessor.count; ++i) {
                decode(i, accessor.data + i * accessor.stride);
            }
        }
        if (accessor.sparse != no_token && !replace(gltf, accessor, bytes, where, decode)) {
            return false;
        }
        indices.data = copy;
    }
    indices.largest = indices.size == 4 ? largest_of<std::uint32_t>(indices.data, indices.count)
                                        : largest_of<std::uint16_t>(indices.data, indices.count);
    gltf.indices[index] = indices;
    out = indices;
    return true;
}

} // namespace boltwalk
