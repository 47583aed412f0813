// From an accessor to positions, normals and indices: a view into the file where its layout will do, else a decoded
// copy. Source of the layouts: glTF 2.0 specification, section 3.6.2; KHR_mesh_quantization for whole-number positions.

#include <algorithm>
#include <cmath>
#include <cstring>
#include <limits>
#include <tuple>

#include <fmt/format.h>

#include "core/map/gltf.hpp"

namespace boltwalk {

namespace {

std::size_t component_bytes(int component) {
    return static_cast<std::size_t>(tinygltf::GetComponentSizeInBytes(static_cast<std::uint32_t>(component)));
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
    case TINYGLTF_COMPONENT_TYPE_BYTE: {
        const float c = load<std::int8_t>(at);
        return normalized ? std::max(c / 127.0F, -1.0F) : c;
    }
    case TINYGLTF_COMPONENT_TYPE_UNSIGNED_BYTE: {
        const float c = load<std::uint8_t>(at);
        return normalized ? c / 255.0F : c;
    }
    case TINYGLTF_COMPONENT_TYPE_SHORT: {
        const float c = load<std::int16_t>(at);
        return normalized ? std::max(c / 32767.0F, -1.0F) : c;
    }
    case TINYGLTF_COMPONENT_TYPE_UNSIGNED_SHORT: {
        const float c = load<std::uint16_t>(at);
        return normalized ? c / 65535.0F : c;
    }
    case TINYGLTF_COMPONENT_TYPE_FLOAT:
        return load<float>(at);
    default:
        return 0;
    }
}

std::uint32_t index_value(const std::byte* at, int component) {
    switch (component) {
    case TINYGLTF_COMPONENT_TYPE_UNSIGNED_BYTE:
        return load<std::uint8_t>(at);
    case TINYGLTF_COMPONENT_TYPE_UNSIGNED_SHORT:
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
    const auto& [places, values] = std::tie(accessor.in->sparse.indices, accessor.in->sparse.values);
    out.count = static_cast<std::size_t>(accessor.in->sparse.count);
    out.place_component = places.componentType;
    if (out.place_component != TINYGLTF_COMPONENT_TYPE_UNSIGNED_BYTE &&
        out.place_component != TINYGLTF_COMPONENT_TYPE_UNSIGNED_SHORT &&
        out.place_component != TINYGLTF_COMPONENT_TYPE_UNSIGNED_INT) {
        return gltf.refuse(
            fmt::format("{}: component type {} is none of indices. Export the map again", here, out.place_component));
    }
    if (places.bufferView < 0 || values.bufferView < 0 || out.count > accessor.in->count) {
        return gltf.refuse(here + ": it is not complete. Export the map again");
    }
    const std::size_t place_size = component_bytes(out.place_component);
    return fetch_elements(gltf, places.bufferView, static_cast<std::size_t>(places.byteOffset), out.count, place_size,
                          here, out.places, out.place_stride) &&
           fetch_elements(gltf, values.bufferView, static_cast<std::size_t>(values.byteOffset), out.count, element,
                          here, out.values, out.value_stride);
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
        if (place >= accessor.in->count) {
            return gltf.refuse(fmt::format("{}, its sparse part: element {} of {} is to be replaced. Export the map "
                                           "again",
                                           where, place, accessor.in->count));
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
    if (const auto bad = gltf.bad_accessors.find(index); bad != gltf.bad_accessors.end()) {
        return gltf.refuse(where + bad->second);
    }
    const tinygltf::Accessor& in = gltf.model.accessors[index];
    if (in.count >= std::numeric_limits<std::uint32_t>::max()) {
        return gltf.refuse(fmt::format("{}: {} elements are too many. Split or simplify the mesh", where, in.count));
    }
    out = {&in, nullptr, 0};
    if (static_cast<std::size_t>(in.bufferView) < gltf.objects(Array::views).size()) {
        const auto components =
            static_cast<std::size_t>(tinygltf::GetNumComponentsInType(static_cast<std::uint32_t>(in.type)));
        return fetch_elements(gltf, in.bufferView, in.byteOffset, in.count,
                              component_bytes(in.componentType) * components, where, out.data, out.stride);
    }
    if (!in.sparse.isSparse && in.count > 0) {
        return gltf.refuse(where + ": it has no buffer view, so nothing to read. If the geometry is compressed, export "
                                   "it without compression");
    }
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
    if (accessor.in->type != TINYGLTF_TYPE_VEC3 || accessor.in->componentType == TINYGLTF_COMPONENT_TYPE_UNSIGNED_INT) {
        return gltf.refuse(where + ": it should be three floats (or bytes or shorts) an element. Export the map again");
    }
    const std::size_t bytes = component_bytes(accessor.in->componentType);
    const bool as_is = accessor.in->componentType == TINYGLTF_COMPONENT_TYPE_FLOAT && !accessor.in->sparse.isSparse &&
                       is_aligned(accessor.data, accessor.stride, alignof(float));
    Strided<Vec3> vectors{accessor.data, accessor.in->count, accessor.stride};
    if (!as_is) {
        std::byte* copy = gltf.own(accessor.in->count * sizeof(Vec3), where);
        if (copy == nullptr || !gltf.spend(accessor.in->count, where)) {
            return false;
        }
        const auto decode = [&](std::size_t place, const std::byte* from) {
            std::array<float, 3> value{};
            for (std::size_t axis = 0; axis < 3; ++axis) {
                value[axis] = component_value(from + axis * bytes, accessor.in->componentType, accessor.in->normalized);
            }
            std::memcpy(copy + place * sizeof(Vec3), value.data(), sizeof(Vec3));
        };
        if (accessor.data == nullptr) {
            std::memset(copy, 0, accessor.in->count * sizeof(Vec3));
        } else {
            for (std::size_t i = 0; i < accessor.in->count; ++i) {
                decode(i, accessor.data + i * accessor.stride);
            }
        }
        if (accessor.in->sparse.isSparse && !replace(gltf, accessor, 3 * bytes, where, decode)) {
            return false;
        }
        vectors = {copy, accessor.in->count, sizeof(Vec3)};
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
    const bool whole = accessor.in->componentType == TINYGLTF_COMPONENT_TYPE_UNSIGNED_BYTE ||
                       accessor.in->componentType == TINYGLTF_COMPONENT_TYPE_UNSIGNED_SHORT ||
                       accessor.in->componentType == TINYGLTF_COMPONENT_TYPE_UNSIGNED_INT;
    if (!whole || accessor.in->type != TINYGLTF_TYPE_SCALAR) {
        return gltf.refuse(where + ": indices should be single unsigned bytes, shorts or whole numbers. Export the map "
                                   "again");
    }
    if (!gltf.spend(accessor.in->count, where)) {
        return false;
    }
    const std::size_t bytes = component_bytes(accessor.in->componentType);
    Indices indices{accessor.data, accessor.in->count,
                    accessor.in->componentType == TINYGLTF_COMPONENT_TYPE_UNSIGNED_INT ? 4 : 2, 0};
    const auto size = static_cast<std::size_t>(indices.size);
    const bool as_is = bytes == size && accessor.stride == bytes && !accessor.in->sparse.isSparse &&
                       is_aligned(accessor.data, accessor.stride, bytes);
    if (!as_is) {
        std::byte* copy = gltf.own(accessor.in->count * size, where);
        if (copy == nullptr) {
            return false;
        }
        const auto decode = [&](std::size_t place, const std::byte* from) {
            const std::uint32_t value = index_value(from, accessor.in->componentType);
            const auto narrow = static_cast<std::uint16_t>(value);
            std::memcpy(copy + place * size, size == 4 ? static_cast<const void*>(&value) : &narrow, size);
        };
        if (accessor.data == nullptr) {
            std::memset(copy, 0, accessor.in->count * size);
        } else {
            for (std::size_t i = 0; i < accessor.in->count; ++i) {
                decode(i, accessor.data + i * accessor.stride);
            }
        }
        if (accessor.in->sparse.isSparse && !replace(gltf, accessor, bytes, where, decode)) {
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
