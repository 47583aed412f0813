#include "viewer/panels/marking.hpp"

#include <algorithm>
#include <cstdio>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "core/job/job.hpp"
#include "core/map/base64.hpp"
#include "core/map/container.hpp"
#include "core/map/files.hpp"
#include "core/photo/photo.hpp"
#include "viewer/panels/marking_files.hpp"

namespace boltwalk {

namespace {

using nlohmann::json;
using nlohmann::ordered_json;

/// FNV-1a (from memory): tells whether the file beside belongs to this one, no more.
std::uint64_t hash_of_bytes(const std::string& bytes) {
    std::uint64_t hash = 14695981039346656037U;
    for (const char c : bytes)
        hash = (hash ^ static_cast<unsigned char>(c)) * 1099511628211U;
    return hash;
}

ordered_json json_of(const MarkDeed& deed) {
    ordered_json out{{"what", deed.what}, {"changes", ordered_json::array()}};
    for (const Change& change : deed.changes)
        out["changes"].push_back({change.node, change.key, change.json, change.of_node});
    if (deed.refused >= 0)
        out["refused"] = deed.refused;
    if (deed.answers_scale)
        out["scale"] = deed.scale;
    if (deed.answers_up)
        out["rotation"] = deed.rotation;
    if (!deed.photo.empty())
        out["photo"] = {deed.photo, base64_of(deed.jpeg)};
    if (!deed.group.empty())
        out["group"] = {deed.group, deed.grouped};
    return out;
}

MarkDeed deed_of(const json& in) {
    MarkDeed deed;
    deed.what = in.at("what").get<std::string>();
    for (const json& change : in.at("changes"))
        deed.changes.push_back({change.at(0).get<std::int32_t>(), change.at(1).get<std::string>(),
                                change.at(2).get<std::string>(), change.at(3).get<bool>()});
    deed.refused = in.value("refused", -1);
    deed.answers_scale = in.contains("scale");
    if (deed.answers_scale)
        deed.scale = in["scale"].get<double>();
    deed.answers_up = in.contains("rotation");
    if (deed.answers_up)
        deed.rotation = in["rotation"].get<std::array<double, 4>>();
    if (in.contains("photo")) {
        deed.photo = in["photo"].at(0).get<std::string>();
        const auto text = in["photo"].at(1).get<std::string>();
        deed.jpeg.resize(base64_bytes(text));
        if (!from_base64(text, reinterpret_cast<std::byte*>(deed.jpeg.data())).empty())
            deed.jpeg.clear();
    }
    if (in.contains("group")) {
        deed.group = in["group"].at(0).get<std::string>();
        deed.grouped = in["group"].at(1).get<std::vector<std::int32_t>>();
    }
    return deed;
}

void keep_beside_file(Marking& marking) {
    ++marking.keeps;
    ordered_json out{{"boltwalk_marking", 1},
                     {"bytes", marking.original.size()},
                     {"hash", fmt::format("{:016x}", hash_of_bytes(marking.original))},
                     {"done", marking.done},
                     {"deeds", ordered_json::array()}};
    for (const MarkDeed& deed : marking.deeds)
        out["deeds"].push_back(json_of(deed));
    if (!put_whole(autosave_path(marking.path), out.dump(1, ' ', false, json::error_handler_t::replace)))
        marking.said =
            "Not kept on disk: " + autosave_path(marking.path) + " cannot be written. Save to another place.";
}

void take_up(Marking& marking) {
    const auto text = bytes_if_readable(autosave_path(marking.path));
    if (!text)
        return;
    try {
        const json in = json::parse(*text);
        if (in.at("bytes").get<std::size_t>() != marking.original.size() ||
            in.at("hash").get<std::string>() != fmt::format("{:016x}", hash_of_bytes(marking.original))) {
            marking.said = autosave_path(marking.path) + " belongs to another version of this file and was left alone.";
            return;
        }
        for (const json& deed : in.at("deeds"))
            marking.deeds.push_back(deed_of(deed));
        marking.done = std::min(in.at("done").get<std::size_t>(), marking.deeds.size());
        marking.recovered = marking.done > 0;
    } catch (const json::exception&) {
        marking.deeds.clear();
        marking.done = 0;
        marking.said = autosave_path(marking.path) + " cannot be read and was left alone.";
    }
}

/// The keys of every node, as a person would type them.
void read_extras(Marking& marking) {
    marking.extras.assign(marking.map.nodes.size(), {});
    const auto container = open_container(span_of(marking.bytes));
    if (!container)
        return;
    const auto document = ordered_json::parse(container->json, nullptr, false);
    if (!document.is_object() || !document.contains("nodes"))
        return;
    const auto take = [](const ordered_json& owner, Marking::Said& into) {
        if (owner.is_object() && owner.contains("extras") && owner["extras"].is_object())
            for (const auto& [key, value] : owner["extras"].items())
                into.emplace_back(key, value.is_string() ? value.get<std::string>() : value.dump());
    };
    std::size_t n = 0;
    for (const auto& node : document["nodes"]) {
        if (n < marking.extras.size())
            take(node, marking.extras[n]);
        ++n;
    }
    marking.scene.clear();
    const std::size_t shown = document.value("scene", std::size_t{0});
    if (document.contains("scenes") && shown < document["scenes"].size())
        take(document["scenes"][shown], marking.scene);
}

/// Every node with a mesh becomes an item, so that the drawing can mark it and a ray name it.
void show_every_node(Marking& marking) {
    auto shown = std::make_unique<Map>(as_scenery(marking.map));
    shown->findings.clear();
    marking.item_of.assign(shown->nodes.size(), ItemId{});
    for (std::size_t n = 0; n < shown->nodes.size(); ++n) {
        Node& node = shown->nodes[n];
        if (node.mesh < 0 || !node.in_scene)
            continue;
        const ItemId id{std::int32_t(shown->items.size())};
        Item& item = shown->items.emplace_back();
        item.kind = ItemKind::part;
        item.detail = std::int32_t(shown->parts.size());
        item.node = std::int32_t(n);
        item.name = item.title = node.name;
        shown->parts.emplace_back().item = id;
        node.item = id;
        marking.item_of[n] = id;
    }
    marking.shown = std::move(shown);
    marking.stage = make_stage(*marking.shown);
    ++marking.stages;
}

bool turns(const MarkDeed& deed) {
    return deed.scale != 1 || deed.rotation != upright_turn(UpAxis::y);
}

/// With a deed's photograph or group in it.
tl::expected<std::string, ReadError> with_node(const std::string& bytes, const std::string& path,
                                               const MarkDeed& deed) {
    if (!deed.photo.empty())
        return deed.jpeg.empty() ? write_without_photo(span_of(bytes), deed.photo)
                                 : write_photo(span_of(bytes), "", deed.photo, deed.jpeg);
    const auto map = read_map_bytes(span_of(bytes), path, folder_of(path));
    if (!map)
        return tl::unexpected(map.error());
    return write_group(span_of(bytes), *map, deed.group, deed.grouped);
}

/// The file as the deeds make it. `until`: so many of them.
tl::expected<std::string, ReadError> made_of(const Marking& marking, std::size_t until) {
    tl::expected<std::string, ReadError> bytes = marking.original;
    std::vector<Change> changes;
    const auto flush = [&] {
        if (!changes.empty())
            bytes = write_changes(span_of(*bytes), changes);
        changes.clear();
        return bytes.has_value();
    };
    for (std::size_t i = 0; i < until; ++i) {
        const MarkDeed& deed = marking.deeds[i];
        if (turns(deed)) {
            if (!flush())
                return bytes;
            bytes = write_turned(span_of(*bytes), deed.scale, deed.rotation);
            if (!bytes)
                return bytes;
        }
        if (!deed.photo.empty() || !deed.group.empty()) {
            if (!flush())
                return bytes;
            bytes = with_node(*bytes, marking.path, deed);
            if (!bytes)
                return bytes;
        }
        changes.insert(changes.end(), deed.changes.begin(), deed.changes.end());
    }
    flush();
    return bytes;
}

/// How large and how turned the deeds leave the model.
std::pair<std::size_t, double> posture(const Marking& marking, std::size_t until) {
    std::size_t count = 0;
    double scale = 1;
    for (std::size_t i = 0; i < until; ++i)
        if (turns(marking.deeds[i])) {
            count = i + 1;
            scale *= marking.deeds[i].scale;
        }
    return {count, scale};
}

bool follow(Marking& marking, bool anew) {
    auto bytes = made_of(marking, marking.done);
    if (!bytes) {
        marking.said = bytes.error().text;
        return false;
    }
    auto map = read_map_bytes(span_of(*bytes), marking.path, folder_of(marking.path));
    if (!map) {
        marking.said = map.error().text;
        return false;
    }
    marking.bytes = std::move(*bytes);
    marking.map = std::move(*map);
    marking.findings = check(prepare(marking.map));
    read_extras(marking);
    marking.refused.clear();
    for (std::size_t i = 0; i < marking.done; ++i)
        if (marking.deeds[i].refused >= 0)
            marking.refused.insert(marking.deeds[i].refused);
    // A photograph or a group brings a node that the drawing does not know yet.
    if (anew || marking.map.nodes.size() != marking.item_of.size())
        show_every_node(marking);
    if (anew) {
        const Map bare = as_scenery(marking.map); // what is annotated already is looked at, too
        const Solids solids = make_solids(bare);
        marking.question = ask_units(solids);
        marking.proposals = find_proposals(solids);
    }
    std::erase_if(marking.picked, [&](std::int32_t n) { return std::size_t(n) >= marking.map.nodes.size(); });
    marking.typed.clear();
    marking.typed_for.clear();
    return true;
}

bool go_to(Marking& marking, std::size_t done) {
    const std::size_t before = marking.done;
    const auto was = posture(marking, before);
    marking.done = done;
    if (!follow(marking, posture(marking, done) != was)) {
        marking.done = before;
        const std::string why = marking.said;
        follow(marking, posture(marking, done) != was);
        marking.said = why;
        return false;
    }
    keep_beside_file(marking);
    return true;
}

} // namespace

std::string autosave_path(const std::string& path) {
    return path + ".marking";
}

tl::expected<std::shared_ptr<Marking>, std::string> open_marking(const std::string& path,
                                                                 const std::set<std::string>& written) {
    auto marking = std::make_shared<Marking>();
    marking->path = path;
    auto bytes = bytes_if_readable(path);
    if (!bytes)
        return tl::unexpected(path + ": cannot be read");
    marking->original = std::move(*bytes);
    marking->written = written;
    marking->save_to = name_to_save(path, written);
    take_up(*marking);
    if (!follow(*marking, true)) {
        if (marking->done == 0)
            return tl::unexpected(marking->said);
        marking->deeds.clear();
        marking->done = 0;
        marking->recovered = false;
        if (!follow(*marking, true))
            return tl::unexpected(marking->said);
        marking->said = "What was kept of an earlier marking does not fit this file any more; it begins anew.";
    }
    if (marking->recovered)
        marking->said = fmt::format("Taken up again: {} deed{} not saved yet. Undo takes back.", marking->done,
                                    marking->done == 1 ? "" : "s");
    return marking;
}

bool add_deed(Marking& marking, MarkDeed deed) {
    const std::vector<MarkDeed> before = marking.deeds;
    marking.deeds.resize(marking.done);
    const std::string what = deed.what;
    marking.deeds.push_back(std::move(deed));
    if (marking.saved > marking.done)
        marking.saved = std::string::npos; // the saved state was undone and is gone
    if (!go_to(marking, marking.done + 1)) {
        marking.deeds = before;
        return false;
    }
    marking.said = what;
    return true;
}

void undo(Marking& marking) {
    if (marking.done == 0)
        return;
    const std::string what = marking.deeds[marking.done - 1].what;
    if (go_to(marking, marking.done - 1))
        marking.said = "Undone: " + what;
}

void redo(Marking& marking) {
    if (marking.done >= marking.deeds.size())
        return;
    const std::string what = marking.deeds[marking.done].what;
    if (go_to(marking, marking.done + 1))
        marking.said = "Done again: " + what;
}

bool is_unsaved(const Marking& marking) {
    return marking.done != marking.saved;
}

bool save(Marking& marking, bool replace) {
    if (marking.save_to.empty()) {
        marking.said = "Type where to save it.";
        return false;
    }
    const bool to_opened = is_same_file(marking.save_to, marking.path);
    if (!replace && !to_opened && is_anothers(marking.save_to, marking.written)) {
        marking.in_the_way = marking.save_to;
        marking.said = fmt::format("Not saved: {} is there already, and was not written by this room. Replace it, or "
                                   "type another name.",
                                   marking.save_to);
        return false;
    }
    // Ids as on every first save: a log finds its items by them.
    const auto bytes = write_changes(span_of(marking.bytes), missing_ids(marking.map));
    if (!bytes) {
        marking.said = bytes.error().text;
        return false;
    }
    if (!put_whole(marking.save_to, *bytes)) {
        marking.said = marking.save_to + ": cannot be written. Is the folder there, and is there room?";
        return false;
    }
    marking.in_the_way.clear();
    marking.written.insert(marking.save_to);
    marking.saved_to = marking.save_to;
    marking.saved = marking.done;
    ++marking.saves;
    marking.said = "Saved: " + marking.save_to;
    std::remove(autosave_path(marking.path).c_str());
    ++marking.keeps;
    if (to_opened) { // from here on it is the file that was opened
        marking.original = *bytes;
        marking.deeds.clear();
        marking.done = marking.saved = 0;
        marking.recovered = false;
        const std::string said = marking.said;
        follow(marking, false);
        marking.said = said;
    }
    return true;
}

} // namespace boltwalk
