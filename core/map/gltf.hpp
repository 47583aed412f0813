// What the reader holds while it reads: the scanned JSON, what tinygltf made of it, the buffers fetched so far, the
// budgets. Not for others.
//
// Every step answers with a bool: false means that the file is refused and `refusal` says why. Work and memory are
// bounded against the bytes of the file and its buffers, so that no small file can ask for much of either.
#pragma once

#include <array>
#include <cstddef>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <unordered_map>
#include <vector>

#include "core/map/map.hpp"
#include "core/map/scan.hpp"
#include "core/map/tinygltf.hpp"

namespace boltwalk {

struct Block {
    std::unique_ptr<std::byte[]> bytes;
    std::size_t size = 0;
    std::span<const std::byte> view() const { return {bytes.get(), size}; }
};
/// Bytes not set to anything: whoever asks for them fills them.
Block make_block(std::size_t size);

struct Buffers {
    std::vector<Block> blocks;
};

/// The memory that decoding may take beside the bytes read: one byte of indices of a strip becomes twelve.
inline constexpr std::size_t own_bytes_per_byte = 16;
/// How many values may be touched for each byte read. Sharing a buffer between primitives is normal; naming the same
/// bytes by a thousand accessors is not.
inline constexpr std::size_t work_per_byte = 64;
/// What small files are granted on top of both.
inline constexpr std::size_t budget_floor = std::size_t{1} << 20;
/// Beyond the first few thousand, a node, an accessor, a material takes at least so many bytes of the file: it does so
/// in every real one, and in memory each takes several times that: in tinygltf's model 350 to 450 bytes, a material
/// more than 2000.
inline constexpr std::size_t free_objects = 4096;
inline constexpr std::size_t bytes_per_object = 24;
inline constexpr std::size_t bytes_per_accessor = 48; ///< and a primitive
inline constexpr std::size_t bytes_per_material = 128;

/// Positions further out than this are doubted: a thousand kilometres.
inline constexpr double absurd_m = 1e6;

/// The arrays at the document's root that are read.
enum class Array : std::uint8_t { scenes, nodes, meshes, materials, accessors, views, buffers };
inline constexpr std::size_t arrays = 7;
std::string_view key_of(Array);

struct Accessor {
    const tinygltf::Accessor* in = nullptr;
    const std::byte* data = nullptr; ///< null: all zeros (a sparse accessor without a base)
    std::size_t stride = 0;
};

struct Indices {
    const std::byte* data = nullptr;
    std::size_t count = 0;
    int size = 4;
    std::uint32_t largest = 0;
};

struct Gltf {
    const Json& json;
    const ReadOptions& options;
    std::string folder;
    std::optional<std::span<const std::byte>> binary_chunk;
    Map& map;
    std::shared_ptr<Buffers> store;
    std::string refusal{};

    std::size_t bytes_read = 0; ///< the file and all buffers fetched
    std::size_t own_bytes = 0;
    std::size_t work = 0;

    std::array<std::vector<TokenId>, arrays> tokens{}; ///< by Array
    tinygltf::Model model{}; ///< its one scene is the one shown; buffers and images are not in it
    int scene = -1;          ///< which one is shown; none: every root
    /// Why an accessor or a buffer view cannot be used: the end of a sentence that names the place.
    std::map<std::size_t, std::string> bad_accessors{}, bad_views{};
    std::vector<std::optional<std::span<const std::byte>>> buffers{};
    std::vector<std::pair<std::string, std::span<const std::byte>>> files{}; ///< fetched, by path
    std::vector<std::optional<Strided<Vec3>>> vectors{};                     ///< decoded, by accessor
    std::vector<std::optional<Indices>> indices{};                           ///< decoded, by accessor
    std::span<const std::byte> counting{}; ///< 0, 1, 2, ... for triangles without indices
    std::vector<std::uint8_t> used{};      ///< by position, of the primitive at hand

    std::vector<TokenId>& objects(Array which) { return tokens[static_cast<std::size_t>(which)]; }
    bool refuse(std::string why) {
        refusal = std::move(why);
        return false;
    }
    /// Accounts for values about to be touched.
    bool spend(std::size_t values, const std::string& where);
    /// A block of our own for decoded values, or null: refused.
    std::byte* own(std::size_t size, const std::string& where);
};

// One question a function; `where` names the object for the refusal: "mesh 3 \"cover\"".

/// Fills `tokens` and `model`: types are right and indices within their arrays from then on.
bool read_document(Gltf&);
/// The JSON that tinygltf is given. Wants `tokens` and `scene`.
bool write_excerpt(Gltf&, std::string& out);
/// Refuses that many objects of a kind.
bool too_many(Gltf&, std::size_t count, std::string_view of);
/// A whole number from 0 to 2^53, the largest range in which a double is exact.
bool read_whole(Gltf&, TokenId value, std::string_view key, const std::string& where, double& out);
/// A whole number of bytes or values; `out` stays where the key is absent.
bool read_size(Gltf&, TokenId object, std::string_view key, const std::string& where, std::size_t& out);
/// "mesh 3 \"cover\"".
std::string say_object(const Gltf&, std::string_view kind, std::size_t index, TokenId object);

/// The bytes of a buffer, fetched on the first call.
bool fetch_buffer(Gltf&, std::size_t index, const std::string& where, std::span<const std::byte>& out);
/// The bytes of a buffer view and its stride (0: tight).
bool fetch_view(Gltf&, std::size_t index, const std::string& where, std::span<const std::byte>& out,
                std::size_t& stride);
bool fetch_accessor(Gltf&, std::size_t index, const std::string& where, Accessor& out);
/// Positions or normals as floats, aligned to four bytes: a view where the file's layout will do.
bool fetch_vectors(Gltf&, std::size_t index, const std::string& where, Strided<Vec3>& out);
bool is_finite(const Strided<Vec3>&);
/// Indices of two or four bytes, aligned, with the largest of them.
bool fetch_indices(Gltf&, std::size_t index, const std::string& where, Indices& out);

void read_materials(Gltf&);
bool read_meshes(Gltf&);

/// Where the annotation stands (no_token where there is none), and the nodes with every parent before its children.
struct NodeReading {
    std::vector<TokenId> node_extras, mesh_extras;
    TokenId scene_extras = no_token;
    /// By the name that some node's `photo` says: the index into Map::photos, or why it cannot be shown.
    std::unordered_map<std::string, std::int32_t> photos;
    std::unordered_map<std::string, std::string> bad_photos;
    std::vector<bool> named; ///< the file gives the node a name
    std::vector<std::size_t> from_top;
};
/// Nodes, their transforms, and which of them the scene shows.
bool read_nodes(Gltf&, NodeReading&);
/// Finds the images that nodes name. Never refuses: what cannot be had is told where it is named. After read_nodes.
void read_photos(Gltf&, NodeReading&);
/// That node stands in the file so that modelling tools keep its images: no scenery.
bool holds_photographs(const Json&, TokenId extras);
/// A doubt about what stands absurdly far out. After read_nodes and read_meshes.
void doubt_absurd_places(Gltf&);

} // namespace boltwalk
