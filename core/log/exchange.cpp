// Entries as JSON and CSV, and back.
#include <algorithm>
#include <map>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "core/log/row.hpp"
#include "core/map/cells.hpp"

namespace boltwalk {

using namespace log_row;

namespace {

using Json = nlohmann::ordered_json;

/// Of the JSON's shape and of the CSV's columns.
constexpr int exchange_format = 1;

const ItemFacts* facts_of(const Snapshot& snapshot, std::int32_t number) {
    return number >= 0 && static_cast<std::size_t>(number) < snapshot.items.size()
               ? &snapshot.items[static_cast<std::size_t>(number)]
               : nullptr;
}

// ---- CSV

/// Behind the row's own columns: what finds the items again.
constexpr std::array<std::string_view, 6> more_columns{"item_id",  "item_kind",  "item_shape",
                                                       "piece_id", "piece_kind", "piece_shape"};

/// RFC 4180, and a plain LF as the line's end too, for programs that write it so.
Reading<std::vector<std::vector<std::string>>> read_csv(std::string_view text) {
    std::vector<std::vector<std::string>> rows;
    std::size_t at = text.starts_with("\xEF\xBB\xBF") ? 3 : 0; // the mark that some programs put first
    const auto mistake = [&](const char* what) {
        return tl::unexpected(Mistake{fmt::format("Row {} of the CSV: {}.", rows.size() + 1, what),
                                      "Write it again as CSV by RFC 4180: commas, texts in double quotes, quotes in "
                                      "them doubled."});
    };
    while (at < text.size()) {
        std::vector<std::string> row;
        for (bool more = true; more;) {
            std::string one;
            if (at < text.size() && text[at] == '"') {
                ++at;
                for (;;) {
                    if (at >= text.size())
                        return mistake("a quote is not closed");
                    if (text[at] != '"') {
                        one += text[at++];
                    } else if (at + 1 < text.size() && text[at + 1] == '"') {
                        one += '"';
                        at += 2;
                    } else {
                        ++at;
                        break;
                    }
                }
            } else {
                while (at < text.size() && text[at] != ',' && text[at] != '\r' && text[at] != '\n')
                    one += text[at++];
            }
            strip_apostrophe(one);
            row.push_back(std::move(one));
            more = at < text.size() && text[at] == ',';
            if (more)
                ++at;
            else if (at < text.size() && text[at] != '\r' && text[at] != '\n')
                return mistake("something follows a closing quote");
        }
        if (at < text.size() && text[at] == '\r')
            ++at;
        if (at < text.size() && text[at] == '\n')
            ++at;
        if (row.size() > 1 || !row[0].empty())
            rows.push_back(std::move(row));
    }
    return rows;
}

// ---- reading

/// The items that an import speaks of, each once, to be matched with the map's.
class Spoken {
public:
    std::int32_t number(const std::string& id, const std::string& name, const std::string& kind,
                        const std::string& shape) {
        if (id.empty() && kind.empty() && shape.empty())
            return -1; // it was no item when it was written
        const auto [found, made] = place_.emplace(std::array{id, name, kind, shape}, snapshot.items.size());
        if (made)
            snapshot.items.push_back({id, name, kind, "", shape});
        return static_cast<std::int32_t>(found->second);
    }
    Snapshot snapshot;

private:
    std::map<std::array<std::string, 4>, std::size_t> place_;
};

Import matched(const Map& map, std::vector<Entry> entries, const Snapshot& then) {
    Import out;
    Match found = match(then, snapshot_of(map));
    for (Entry& e : entries) {
        if (e.item_no >= 0)
            e.item = found.items[static_cast<std::size_t>(e.item_no)];
        if (e.piece_no >= 0)
            e.piece_of = found.items[static_cast<std::size_t>(e.piece_no)];
        e.item_no = e.piece_no = -1; // numbers of another log
        e.number = 0;
    }
    out.entries = std::move(entries);
    for (const std::string& name : found.lost)
        out.differs.push_back(fmt::format("{} is not found on this map.", name));
    return out;
}

Reading<Import> import_csv(const Map& map, std::string_view text) {
    const auto rows = read_csv(text);
    if (!rows)
        return tl::unexpected(rows.error());
    std::vector<std::size_t> own(columns.size(), std::string::npos), more(more_columns.size(), std::string::npos);
    const std::vector<std::string> none;
    const std::vector<std::string>& head = rows->empty() ? none : rows->front();
    for (std::size_t i = 0; i < head.size(); ++i) {
        for (std::size_t c = 0; c < columns.size(); ++c)
            if (columns[c] == head[i])
                own[c] = i;
        for (std::size_t c = 0; c < more_columns.size(); ++c)
            if (more_columns[c] == head[i])
                more[c] = i;
    }
    for (std::size_t c = 0; c < columns.size(); ++c)
        if (own[c] == std::string::npos)
            return tl::unexpected(
                Mistake{fmt::format("The CSV has no column \"{}\".", columns[c]),
                        "Take what `boltwalk log MAP --csv` wrote; its first row names the columns."});
    Spoken spoken;
    std::vector<Entry> entries;
    for (std::size_t r = 1; r < rows->size(); ++r) {
        const auto cell = [&](std::size_t column) {
            return column < (*rows)[r].size() ? well_formed((*rows)[r][column]) : std::string();
        };
        Row row;
        for (std::size_t c = 0; c < columns.size(); ++c)
            row[c] = cell(own[c]);
        Entry e = from_row(row);
        if (e.key.empty())
            return tl::unexpected(Mistake{fmt::format("Row {} of the CSV has no key.", r + 1),
                                          "Each entry has the key that it was given; without it, it would be added "
                                          "anew by every import."});
        e.item_no = spoken.number(cell(more[0]), e.named, cell(more[1]), cell(more[2]));
        e.piece_no = spoken.number(cell(more[3]), e.piece_named, cell(more[4]), cell(more[5]));
        entries.push_back(std::move(e));
    }
    return matched(map, std::move(entries), spoken.snapshot);
}

std::string text_of(const Json& json, std::string_view key) {
    const auto found = json.find(key);
    return found != json.end() && found->is_string() ? well_formed(found->get_ref<const std::string&>())
                                                     : std::string();
}

std::int32_t number_of(const Json& json, std::string_view key, std::size_t count) {
    const auto found = json.find(key);
    if (found == json.end() || !found->is_number_unsigned())
        return -1;
    const auto number = found->get<std::uint64_t>();
    return number < count ? static_cast<std::int32_t>(number) : -1;
}

Reading<Import> import_json(const Map& map, std::string_view text) {
    constexpr const char* remedy = "Take what `boltwalk log MAP --json` wrote.";
    // Deep nesting would overflow the parser's own stack; a log is never deeper than this.
    constexpr int deepest = 16;
    const auto is_flat = [](int depth, Json::parse_event_t, Json&) { return depth < deepest; };
    const Json root = Json::parse(text, is_flat, false);
    if (root.is_discarded() || !root.is_object())
        return tl::unexpected(Mistake{"This is no JSON of a log.", remedy});
    const auto version = root.find("boltwalk_log");
    if (version == root.end() || !version->is_number_integer() || *version != exchange_format)
        return tl::unexpected(
            Mistake{fmt::format("This JSON is no log, or one of another version (this program reads \"boltwalk_log\": "
                                "{}).",
                                exchange_format),
                    remedy});
    const auto items = root.find("items"), list = root.find("entries");
    if (items == root.end() || !items->is_array() || list == root.end() || !list->is_array())
        return tl::unexpected(Mistake{"This log has no items, or no entries.", remedy});
    Snapshot then;
    for (const Json& item : *items)
        then.items.push_back(
            {text_of(item, "id"), text_of(item, "name"), text_of(item, "kind"), "", text_of(item, "shape")});
    std::vector<Entry> entries;
    for (const Json& one : *list) {
        Row row;
        for (std::size_t c = 0; c < columns.size(); ++c)
            row[c] = one.is_object() ? text_of(one, columns[c]) : std::string();
        Entry e = from_row(row);
        if (e.key.empty())
            return tl::unexpected(Mistake{fmt::format("Entry {} of the log has no key.", entries.size() + 1), remedy});
        e.item_no = number_of(one, "item_no", then.items.size());
        e.piece_no = number_of(one, "piece_no", then.items.size());
        entries.push_back(std::move(e));
    }
    return matched(map, std::move(entries), then);
}

} // namespace

std::string export_json(const Snapshot& snapshot, const std::vector<Entry>& entries) {
    Json root;
    root["boltwalk_log"] = exchange_format;
    root["rules"] = snapshot.rules;
    root["map"] = snapshot.map;
    root["job"] = snapshot.job;
    root["items"] = Json::array();
    for (const ItemFacts& item : snapshot.items) {
        Json facts = Json::parse(item.facts, nullptr, false);
        root["items"].push_back({{"id", item.id},
                                 {"name", item.name},
                                 {"kind", item.kind},
                                 {"shape", item.shape},
                                 {"facts", facts.is_discarded() ? Json::object() : std::move(facts)}});
    }
    root["entries"] = Json::array();
    for (const Entry& e : entries) {
        Json one;
        if (e.number > 0)
            one["number"] = e.number;
        const Row row = to_row(e);
        for (std::size_t c = 0; c < columns.size(); ++c)
            if (!row[c].empty())
                one[std::string(columns[c])] = row[c];
        if (e.item_no >= 0)
            one["item_no"] = e.item_no;
        if (e.piece_no >= 0)
            one["piece_no"] = e.piece_no;
        root["entries"].push_back(std::move(one));
    }
    std::string out;
    for (const char c : root.dump(2, ' ', true, Json::error_handler_t::replace) + "\n") {
        if (c == '\x7f')
            out += "\\u007f";
        else
            out += c;
    }
    return out;
}

std::string export_csv(const Snapshot& snapshot, const std::vector<Entry>& entries) {
    std::string out = "number";
    for (const std::string_view column : columns)
        out += "," + std::string(column);
    for (const std::string_view column : more_columns)
        out += "," + std::string(column);
    out += "\r\n";
    for (const Entry& e : entries) {
        out += e.number > 0 ? std::to_string(e.number) : "";
        for (const std::string& text : to_row(e))
            put_cell(out += ',', text);
        for (const std::int32_t number : {e.item_no, e.piece_no}) {
            const ItemFacts* facts = facts_of(snapshot, number);
            for (const std::string& text :
                 {facts ? facts->id : "", facts ? facts->kind : "", facts ? facts->shape : ""})
                put_cell(out += ',', text);
        }
        out += "\r\n";
    }
    return out;
}

Reading<Import> import_log(const Map& map, std::string_view text) {
    std::size_t at = text.starts_with("\xEF\xBB\xBF") ? 3 : 0;
    while (at < text.size() && (text[at] == ' ' || text[at] == '\n' || text[at] == '\r' || text[at] == '\t'))
        ++at;
    return at < text.size() && text[at] == '{' ? import_json(map, text.substr(at)) : import_csv(map, text);
}

} // namespace boltwalk
