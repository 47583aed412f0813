// The excerpt of a document that tinygltf is given: of each object the members that are used here, their types and
// ranges checked first, each mistake told with its place. Left to itself it makes defaults of wrong types without a
// word, lets large numbers wrap, fetches buffers and images, copies extras.
//
// What it refuses a whole file for (an accessor without a type, a buffer view with an odd stride) may stand in objects
// that nothing shown here uses. An empty object stands for such a one, and its mistake is told on first use.

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <span>

#include <fmt/format.h>

#include "core/map/gltf.hpp"

namespace boltwalk {

namespace {

enum class Form {
    index,      ///< a whole number below the size of the array `of`
    whole,      ///< a whole number
    small,      ///< the same, kept in an int: a larger one becomes the largest of those
    numbers,    ///< `size` of them; one may stand without brackets
    nodes,      ///< an array of indices of nodes
    text,       ///< left out where it is none
    flag,       ///< true, else left out
    mark,       ///< an extension: only that it is there is told
    object,     ///< the members known in `key`; none where it is no object
    primitives, ///< an array of a mesh's primitives
};

struct Member {
    std::string_view in, key;
    Form form = Form::object;
    Array of = Array::nodes;
    std::size_t size = 0;
};

/// Every member that is handed over.
constexpr std::array known_members{
    Member{"scene", "nodes", Form::nodes},
    Member{"node", "name", Form::text},
    Member{"node", "mesh", Form::index, Array::meshes},
    Member{"node", "children", Form::nodes},
    Member{"node", "matrix", Form::numbers, {}, 16},
    Member{"node", "translation", Form::numbers, {}, 3},
    Member{"node", "rotation", Form::numbers, {}, 4},
    Member{"node", "scale", Form::numbers, {}, 3},
    Member{"mesh", "name", Form::text},
    Member{"mesh", "primitives", Form::primitives},
    Member{"primitive", "mode", Form::small},
    Member{"primitive", "attributes"},
    Member{"attributes", "POSITION", Form::index, Array::accessors},
    Member{"attributes", "NORMAL", Form::index, Array::accessors},
    Member{"primitive", "indices", Form::index, Array::accessors},
    Member{"primitive", "material", Form::index, Array::materials},
    Member{"primitive", "extensions"},
    Member{"accessor", "bufferView", Form::index, Array::views},
    Member{"accessor", "byteOffset", Form::whole},
    Member{"accessor", "componentType", Form::whole},
    Member{"accessor", "count", Form::whole},
    Member{"accessor", "type", Form::text},
    Member{"accessor", "normalized", Form::flag},
    Member{"accessor", "sparse"},
    Member{"sparse", "count", Form::small},
    Member{"sparse", "indices"},
    Member{"sparse", "values"},
    Member{"indices", "bufferView", Form::index, Array::views},
    Member{"indices", "byteOffset", Form::small},
    Member{"indices", "componentType", Form::small},
    Member{"values", "bufferView", Form::index, Array::views},
    Member{"values", "byteOffset", Form::small},
    Member{"view", "buffer", Form::index, Array::buffers},
    Member{"view", "byteOffset", Form::whole},
    Member{"view", "byteLength", Form::whole},
    Member{"view", "byteStride", Form::whole},
    Member{"view", "extensions"},
    Member{"material", "pbrMetallicRoughness"},
    Member{"pbrMetallicRoughness", "baseColorFactor", Form::numbers, {}, 4},
    Member{"pbrMetallicRoughness", "metallicFactor", Form::numbers, {}, 1},
    Member{"pbrMetallicRoughness", "roughnessFactor", Form::numbers, {}, 1},
    Member{"material", "doubleSided", Form::flag},
    Member{"material", "extensions"},
    Member{"gloss", "diffuseFactor", Form::numbers, {}, 4},
    Member{"extensions", "KHR_materials_pbrSpecularGlossiness", Form::mark},
    Member{"extensions", "KHR_draco_mesh_compression", Form::mark},
    Member{"extensions", "EXT_meshopt_compression", Form::mark},
};

struct Excerpt {
    Gltf& gltf;
    std::string out;
    std::size_t primitives = 0;

    void comma() {
        if (std::string_view("[{:").find(out.back()) == std::string_view::npos) {
            out += ',';
        }
    }
    void key(std::string_view name) {
        comma();
        out += '"';
        out += name;
        out += "\":";
    }
    /// Without fraction, exponent or sign, whichever way the file has it.
    void whole(double number) { fmt::format_to(std::back_inserter(out), "{}", static_cast<std::uint64_t>(number)); }

    bool numbers(TokenId token, const Member& member, const std::string& where) {
        const bool bare = member.size == 1 && gltf.json.is(token, JsonKind::number);
        const std::vector<TokenId> list = bare ? std::vector{token} : elements_of(gltf.json, token);
        const auto is_number = [&](TokenId at) { return gltf.json.is(at, JsonKind::number); };
        if (list.size() != member.size || !std::all_of(list.begin(), list.end(), is_number)) {
            return gltf.refuse(
                fmt::format("{}: \"{}\" should be {} numbers. Export the map again", where, member.key, member.size));
        }
        out += gltf.json.raw(member.size == 1 ? list[0] : token);
        return true;
    }

    bool nodes(TokenId token, const Member& member, const std::string& where) {
        if (!gltf.json.is(token, JsonKind::array)) {
            return gltf.refuse(fmt::format("{}: \"{}\" is no array. Export the map again", where, member.key));
        }
        const std::size_t limit = gltf.objects(Array::nodes).size();
        out += '[';
        for (TokenId at = token + 1; at < gltf.json[token].next; at = gltf.json[at].next) {
            const double number = gltf.json.is(at, JsonKind::number) ? number_of(gltf.json, at) : -1;
            if (!(number >= 0 && number < static_cast<double>(limit)) || number != std::floor(number)) {
                return gltf.refuse(
                    fmt::format("{}: {} {}, which is none; there are {} nodes, counted from 0. Export the "
                                "map again",
                                where, member.key == "children" ? "it has a child" : "it lists node",
                                gltf.json.raw(at).substr(0, 40), limit));
            }
            comma();
            whole(number);
        }
        out += ']';
        return true;
    }

    bool value(TokenId token, const Member& member, const std::string& where) { // NOLINT(misc-no-recursion)
        if (member.form == Form::object) {
            const bool sparse = member.key == "sparse";
            if (!object(token, member.key, sparse ? where + ", its sparse part" : where)) {
                return false;
            }
            if (sparse) {
                complete(token, "count", "0");
            }
            return true;
        }
        if (member.form == Form::index || member.form == Form::whole || member.form == Form::small) {
            double number = 0;
            if (!read_whole(gltf, token, member.key, where, number)) {
                return false;
            }
            const std::size_t limit = gltf.objects(member.of).size();
            if (member.form == Form::index && number >= static_cast<double>(limit)) {
                return gltf.refuse(fmt::format("{}: \"{}\" is {:.0f}, and the file has {} of those, counted from 0. "
                                               "Export the map again",
                                               where, member.key, number, limit));
            }
            whole(member.form == Form::small ? std::min(number, double{std::numeric_limits<int>::max()}) : number);
            return true;
        }
        if (member.form == Form::numbers) {
            return numbers(token, member, where);
        }
        if (member.form == Form::nodes) {
            return nodes(token, member, where);
        }
        if (member.form == Form::primitives) {
            return list(token, where);
        }
        out += member.form == Form::mark ? "{}" : gltf.json.raw(token);
        return true;
    }

    /// The known members of an object of that kind.
    bool object(TokenId token, std::string_view kind, const std::string& where) { // NOLINT(misc-no-recursion)
        comma();
        out += '{';
        const TokenId end = gltf.json.is(token, JsonKind::object) ? gltf.json[token].next : token;
        for (TokenId at = token + 1; at < end; at = gltf.json[at + 1].next) {
            const auto member = std::find_if(known_members.begin(), known_members.end(), [&](const Member& known) {
                return known.in == kind && text_equals(gltf.json, at, known.key);
            });
            if (member == known_members.end() ||
                (member->form == Form::text && !gltf.json.is(at + 1, JsonKind::text)) ||
                (member->form == Form::flag && !gltf.json.is(at + 1, JsonKind::yes))) {
                continue;
            }
            key(member->key == "diffuseFactor" ? "baseColorFactor" : member->key);
            if (!value(at + 1, *member, where)) {
                return false;
            }
        }
        out += '}';
        return true;
    }

    bool list(TokenId token, const std::string& where) { // NOLINT(misc-no-recursion)
        std::size_t count = 0;
        out += '[';
        for (const TokenId primitive : elements_of(gltf.json, token)) {
            const std::string here = fmt::format("{}, primitive {}", where, count++);
            if (!gltf.json.is(find_member(gltf.json, primitive, "attributes"), JsonKind::object)) {
                return gltf.refuse(here + ": \"attributes\" is missing or no object. Export the map again");
            }
            if (!object(primitive, "primitive", here)) {
                return false;
            }
        }
        out += ']';
        primitives += count;
        return primitives <= free_objects + gltf.bytes_read / bytes_per_accessor ||
               too_many(gltf, primitives, "primitives");
    }

    bool mesh(TokenId token, const std::string& where) {
        if (!gltf.json.is(find_member(gltf.json, token, "primitives"), JsonKind::array)) {
            return gltf.refuse(where + ": \"primitives\" is missing or no array. Export the map again");
        }
        return object(token, "mesh", where);
    }

    /// Writes a member into the object just written that tinygltf wants, where the file leaves it out.
    void complete(TokenId token, std::string_view name, std::string_view json) {
        if (find_member(gltf.json, token, name) == no_token) {
            out.pop_back();
            key(name);
            out += json;
            out += '}';
        }
    }

    bool accessor(TokenId token) {
        const auto has = [&](TokenId object, std::string_view name) {
            return find_member(gltf.json, object, name) != no_token;
        };
        if (!object(token, "accessor", "")) {
            return false;
        }
        const TokenId type = find_member(gltf.json, token, "type");
        const TokenId component = find_member(gltf.json, token, "componentType");
        const std::string name = gltf.json.is(type, JsonKind::text) ? text_of(gltf.json, type) : std::string();
        const double number = component == no_token ? 0 : number_of(gltf.json, component);
        if ((name != "SCALAR" && name != "VEC2" && name != "VEC3" && name != "VEC4") ||
            !(number >= TINYGLTF_COMPONENT_TYPE_BYTE && number <= TINYGLTF_COMPONENT_TYPE_FLOAT) ||
            number == TINYGLTF_COMPONENT_TYPE_INT) {
            return gltf.refuse(": its type or componentType is none that geometry has. Export the map again");
        }
        const TokenId sparse = find_member(gltf.json, token, "sparse");
        const TokenId places = find_member(gltf.json, sparse, "indices");
        if (sparse != no_token && !(has(places, "bufferView") && has(places, "componentType") &&
                                    has(find_member(gltf.json, sparse, "values"), "bufferView"))) {
            return gltf.refuse(", its sparse part: it is not complete. Export the map again");
        }
        complete(token, "count", "0");
        // tinygltf takes no indices without one, though a sparse accessor may do so: the one after the last.
        complete(token, "bufferView", fmt::format("{}", gltf.objects(Array::views).size()));
        return true;
    }

    bool view(TokenId token) {
        const TokenId stride = find_member(gltf.json, token, "byteStride");
        if (!object(token, "view", "")) {
            return false;
        }
        if (const double bytes = stride == no_token ? 0 : number_of(gltf.json, stride);
            bytes > 252 || std::fmod(bytes, 4) != 0) {
            return gltf.refuse(fmt::format(": \"byteStride\" is {:.0f}, where a multiple of four up to 252 is wanted. "
                                           "Export the map again",
                                           bytes));
        }
        complete(token, "buffer", "-1");
        complete(token, "byteLength", "0");
        return true;
    }

    /// One of the arrays at the root; `empty` stands for an object that `write` fails for and that may go unused.
    template <typename Write>
    bool array(Array which, const Write& write, std::map<std::size_t, std::string>* bad = nullptr,
               std::string_view empty = {}) {
        key(key_of(which));
        out += '[';
        const std::vector<TokenId>& tokens = gltf.objects(which);
        for (std::size_t i = 0; i < tokens.size(); ++i) {
            const std::size_t before = out.size();
            if (write(i, tokens[i])) {
                continue;
            }
            if (bad == nullptr) {
                return false;
            }
            bad->emplace(i, std::move(gltf.refusal));
            out.resize(before);
            comma();
            out += empty;
        }
        out += ']';
        return true;
    }

    /// Colours of the older kind of material are handed over as those of the newer.
    bool material(TokenId token, const std::string& where) {
        if (!object(token, "material", where)) {
            return false;
        }
        const TokenId gloss =
            find_member(gltf.json, find_member(gltf.json, token, "extensions"), "KHR_materials_pbrSpecularGlossiness");
        if (gloss == no_token || find_member(gltf.json, token, "pbrMetallicRoughness") != no_token) {
            return true;
        }
        out.pop_back();
        key("pbrMetallicRoughness");
        const bool good = object(gloss, "gloss", where);
        out += '}';
        return good;
    }

    bool document() {
        const auto named = [&](std::string_view kind) {
            return [this, kind](std::size_t i, TokenId token) {
                const std::string where = say_object(gltf, kind, i, token);
                return kind == "mesh"       ? mesh(token, where)
                       : kind == "material" ? material(token, where)
                                            : object(token, kind, where);
            };
        };
        constexpr std::string_view no_view = R"({"buffer":-1,"byteLength":0})";
        constexpr std::string_view no_accessor = R"({"bufferView":0,"componentType":5126,"count":0,"type":"SCALAR"})";
        out = R"({"asset":{"version":"2.0"})";
        if (!array(Array::nodes, named("node")) || !array(Array::meshes, named("mesh")) ||
            !array(Array::materials, named("material"))) {
            return false;
        }
        const auto one_accessor = [&](std::size_t, TokenId token) { return accessor(token); };
        const auto one_view = [&](std::size_t, TokenId token) { return view(token); };
        array(Array::accessors, one_accessor, &gltf.bad_accessors, no_accessor);
        array(Array::views, one_view, &gltf.bad_views, no_view);
        out.pop_back();
        comma();
        out += no_view; // the one after the last
        out += R"(],"scenes":[)";
        const std::size_t shown = gltf.scene < 0 ? 0 : static_cast<std::size_t>(gltf.scene);
        if (gltf.scene >= 0 && !named("scene")(shown, gltf.objects(Array::scenes)[shown])) {
            return false;
        }
        out += "]}";
        return true;
    }
};

} // namespace

bool write_excerpt(Gltf& gltf, std::string& out) {
    Excerpt excerpt{gltf, {}};
    const bool good = excerpt.document();
    out = std::move(excerpt.out);
    return good;
}

} // namespace boltwalk
