#include "core/log/lines.hpp"

#include <algorithm>
#include <charconv>

#include <fmt/format.h>

#include "core/log/progress.hpp"

namespace boltwalk {

namespace {

constexpr const char* see = "`boltwalk log --help` shows how lines are written.";

struct Token {
    std::string text;
    bool quoted = false;
};

/// The words before the first ": ", and what follows it.
struct Line {
    std::vector<Token> tokens;
    std::string words;
};

tl::unexpected<Mistake> mistake(std::string what, std::string remedy = see) {
    return tl::unexpected(Mistake{std::move(what), std::move(remedy)});
}

Reading<Line> split(std::string_view text) {
    Line line;
    for (std::size_t at = 0; at < text.size();) {
        if (text[at] == ' ' || text[at] == '\t') {
            ++at;
            continue;
        }
        if (text[at] == '"') {
            const std::size_t end = text.find('"', at + 1);
            if (end == std::string_view::npos)
                return mistake("A quote is not closed.");
            line.tokens.push_back({std::string(text.substr(at + 1, end - at - 1)), true});
            at = end + 1;
        } else {
            std::size_t end = at;
            while (end < text.size() && text[end] != ' ' && text[end] != '\t' && text[end] != ':')
                ++end;
            // A colon within a name is part of it; one at its end begins the words.
            while (end < text.size() && text[end] == ':' && end + 1 < text.size() && text[end + 1] != ' ') {
                ++end;
                while (end < text.size() && text[end] != ' ' && text[end] != '\t' && text[end] != ':')
                    ++end;
            }
            if (end > at)
                line.tokens.push_back({std::string(text.substr(at, end - at)), false});
            at = end;
        }
        if (at < text.size() && text[at] == ':') {
            line.words = trimmed(text.substr(at + 1));
            break;
        }
    }
    return line;
}

/// Reads the tokens of one line from left to right.
class Reader {
public:
    Reader(const LineContext& context, Line line) : c_(context), map_(*context.job.map), line_(std::move(line)) {}

    Reading<std::vector<Entry>> read() {
        const std::string word = next();
        const std::optional<Deed> deed = read_deed(word);
        if (!deed)
            return mistake(
                fmt::format("\"{}\" is no deed.", word),
                "Begin with did, found, in-the-way, moved, settled, ticked, way-back, way-out, noted, struck "
                "or closed.");
        Entry e;
        e.deed = *deed;
        e.words = line_.words;
        switch (*deed) {
        case Deed::did:
            return did(std::move(e));
        case Deed::found:
            return found(std::move(e));
        case Deed::in_the_way:
            e.named = rest();
            e.item = find_item(map_, e.named);
            if (e.named.empty() && e.words.empty())
                return mistake("What was in the way is not said.");
            if (!e.named.empty() && !is_node(e.named))
                return mistake(fmt::format("No node of the model is named {}.", e.named),
                               "Say what it is in words: in-the-way: a cable tie.");
            break;
        case Deed::moved:
            return moved(std::move(e));
        case Deed::settled:
        case Deed::struck:
            return about(std::move(e));
        case Deed::noted:
            e.named = rest();
            e.item = find_item(map_, e.named);
            if (!e.named.empty() && !e.item)
                return no_item(e.named);
            break;
        case Deed::way_back:
        case Deed::way_out:
        case Deed::closed:
            break;
        case Deed::ticked:
        case Deed::unknown:
            return mistake("This is no line.");
        }
        return finish({std::move(e)});
    }

private:
    bool at_end() const { return at_ >= line_.tokens.size(); }
    std::string next() { return at_end() ? std::string() : line_.tokens[at_++].text; }
    bool is_word() const {
        constexpr std::string_view words[] = {"with", "at", "pass", "of", "but", "as", "to"};
        return !at_end() && !line_.tokens[at_].quoted &&
               std::find(std::begin(words), std::end(words), line_.tokens[at_].text) != std::end(words);
    }
    bool take(std::string_view word) {
        if (at_end() || line_.tokens[at_].quoted || line_.tokens[at_].text != word)
            return false;
        ++at_;
        return true;
    }
    /// Up to the next of the small words.
    std::string rest() {
        std::string out;
        while (!at_end() && !is_word())
            out += (out.empty() ? "" : " ") + next();
        return out;
    }
    bool is_node(const std::string& name) const {
        return std::any_of(map_.nodes.begin(), map_.nodes.end(), [&](const Node& n) { return n.name == name; });
    }
    tl::unexpected<Mistake> no_item(const std::string& name) const {
        return mistake(fmt::format("{}: no part, fastener, task or group has that name.", name.empty() ? "?" : name),
                       "Names are those of the model's nodes; one with spaces stands in double quotes.");
    }
    Reading<std::vector<Entry>> finish(std::vector<Entry> entries) const {
        if (!at_end())
            return mistake(fmt::format("\"{}\" is too much.", line_.tokens[at_].text));
        return entries;
    }
    static bool read_count(const std::string& text, int& out) {
        const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), out);
        return error == std::errc() && end == text.data() + text.size() && out > 0;
    }

    /// with, at, pass, as: the same for every entry of a line.
    Reading<bool> extras(Entry& e) {
        for (;;) {
            if (take("with")) {
                const std::string name = rest();
                if (name == "new") {
                    e.piece = PieceFrom::fresh;
                } else {
                    e.piece = PieceFrom::of_site;
                    e.piece_of = find_item(map_, name);
                    e.piece_named = name;
                    if (!e.piece_of || !map_.is_fastener(e.piece_of))
                        return mistake(fmt::format("{}: no fastener has that name.", name),
                                       "Say whose place the piece was found in, or `with new`.");
                }
            } else if (take("at")) {
                e.torque = rest();
                const auto read = read_torque(e.torque);
                if (!read)
                    return tl::unexpected(read.error());
            } else if (take("pass")) {
                if (!read_count(next(), e.pass) || !take("of") || !read_count(next(), e.passes) || e.pass > e.passes)
                    return mistake("Which pass is not said.", "Write it so: pass 1 of 2.");
            } else if (take("as")) {
                const FastenerKind usual =
                    e.item && map_.is_fastener(e.item) ? map_.fastener(e.item).kind : FastenerKind::bolt;
                const auto kind = read_kind(rest(), usual);
                if (!kind)
                    return tl::unexpected(kind.error());
                e.as = *kind;
            } else {
                return true;
            }
        }
    }

    static std::optional<Action> next_for_part(const Map& map, const State& state, ItemId item) {
        const PartState is = state.parts[static_cast<std::size_t>(map[item].detail)];
        if (state.refit) {
            if (state.unmated[static_cast<std::size_t>(map[item].detail)] != 0)
                return Action{Verb::mate, item, {}};
            if (is == PartState::on)
                return std::nullopt;
            return Action{is == PartState::off     ? Verb::fit
                          : is == PartState::aside ? Verb::put_back
                                                   : Verb::raise,
                          item,
                          {}};
        }
        const Part& part = map.part(item);
        if (is == PartState::on && item != map.target && !part.aside.empty())
            return Action{Verb::set_aside, item, {}};
        if (is == PartState::on && item != map.target && part.lower_mm)
            return Action{Verb::let_down, item, {}};
        return is == PartState::off ? std::nullopt : std::optional(Action{Verb::take_off, item, {}});
    }

    static std::optional<Action> next_for_fastener(const Map& map, const State& state, ItemId item) {
        const FastenerState is = state.fasteners[static_cast<std::size_t>(map[item].detail)];
        if (state.refit) {
            if (is == FastenerState::torqued || is == FastenerState::tight)
                return std::nullopt;
            return Action{is == FastenerState::out ? Verb::start : Verb::tighten, item, {}};
        }
        const Fastener& fastener = map.fastener(item);
        if (is == FastenerState::out)
            return std::nullopt;
        const bool stays = fastener.leaves_with || fastener.captive_in || fastener.frees_when == FreesWhen::slack;
        if (stays && is == FastenerState::slack)
            return std::nullopt;
        return Action{stays ? Verb::loosen : Verb::take_out, item, {}};
    }

    /// What comes next for an item, as it stands; nothing where it is through.
    std::optional<Action> next_for(ItemId item) const {
        if (map_.is_part(item))
            return next_for_part(map_, c_.now.state, item);
        if (map_.is_fastener(item))
            return next_for_fastener(map_, c_.now.state, item);
        const bool done = c_.now.state.done[static_cast<std::size_t>(map_[item].detail)] != 0;
        return done ? std::nullopt : std::optional(Action{Verb::do_task, item, {}});
    }

    Entry entry_of(const Entry& like, Verb verb, ItemId item) const {
        Entry e = like;
        e.verb = verb;
        e.item = item;
        e.named = item ? map_[item].name : "";
        return e;
    }

    Reading<std::vector<Entry>> step(Entry like, bool back) {
        const Plan& plan = back ? c_.refit : c_.strip;
        int number = 0;
        const std::string text = next();
        if (!read_count(text, number) || static_cast<std::size_t>(number) > plan.steps.size())
            return mistake(fmt::format("\"{}\" is no step of the {}; they are numbered 1 to {}.", text,
                                       back ? "way back" : "order down", plan.steps.size()));
        const Step& step = plan.steps[static_cast<std::size_t>(number) - 1];
        std::vector<ItemId> left_out;
        while (take("but")) {
            const std::string name = rest();
            const ItemId item = find_item(map_, name);
            if (!item || std::find(step.items.begin(), step.items.end(), item) == step.items.end())
                return mistake(fmt::format("{} is not in that step.", name));
            left_out.push_back(item);
        }
        if (const auto good = extras(like); !good)
            return tl::unexpected(good.error());
        const auto index = static_cast<std::size_t>(number) - 1;
        std::vector<Entry> entries = entries_of_step(c_.job, c_.now, plan, index, like, left_out);
        if (entries.empty())
            return mistake(fmt::format("All of {} was entered already.", step_name(plan, index)),
                           "Enter single items by verb and name, should they have been done again.");
        return finish(std::move(entries));
    }

    Reading<std::vector<Entry>> did(Entry e) {
        if (take("out"))
            return step(std::move(e), false);
        if (take("back"))
            return step(std::move(e), true);
        std::optional<Verb> verb;
        if (!at_end() && !line_.tokens[at_].quoted)
            verb = read_verb(line_.tokens[at_].text);
        if (verb)
            ++at_;
        if (verb == Verb::set_vehicle) {
            const auto vehicle = read_vehicle(rest());
            if (!vehicle)
                return tl::unexpected(vehicle.error());
            e.verb = *verb;
            e.vehicle = *vehicle;
            return finish({std::move(e)});
        }
        const std::string name = rest();
        std::vector<ItemId> items;
        if (const ItemId item = find_item(map_, name))
            items.push_back(item);
        else if (const std::int32_t group = find_group(map_, name); group >= 0)
            items = map_.groups[static_cast<std::size_t>(group)].members;
        if (items.empty())
            return no_item(name);
        e.item = items.front();
        if (const auto good = extras(e); !good)
            return tl::unexpected(good.error());
        std::vector<Entry> entries;
        for (const ItemId item : items) {
            const std::optional<Action> action = verb ? std::optional(Action{*verb, item, {}}) : next_for(item);
            if (action)
                entries.push_back(entry_of(e, action->verb, item));
        }
        if (entries.empty())
            return mistake(fmt::format("{}: by the log, nothing comes next for it.", name),
                           "Say the verb, as in: did take-out " + name + ".");
        return finish(std::move(entries));
    }

    Reading<std::vector<Entry>> found(Entry e) {
        const std::string word = next();
        const auto mishap = read_mishap(word);
        if (!mishap)
            return mistake(fmt::format("\"{}\" is nothing that is found.", word),
                           "One of: absent, wrong-piece, sheared, stripped, rounded, stuck, cut-off, stud-came, recut, "
                           "insert, substitute, lost, night.");
        e.mishap = *mishap;
        e.named = rest();
        e.item = find_item(map_, e.named);
        if (!e.item)
            return no_item(e.named);
        if (const auto good = extras(e); !good)
            return tl::unexpected(good.error());
        return finish({std::move(e)});
    }

    Reading<std::vector<Entry>> moved(Entry e) {
        e.named = rest();
        e.item = find_item(map_, e.named);
        if (!e.item || !map_.is_fastener(e.item))
            return no_item(e.named);
        const auto to = take("to") ? read_whereabouts(next()) : std::nullopt;
        if (!to || *to == Whereabouts::in_place || *to == Whereabouts::never)
            return mistake("Where it went is not said.", "Write: moved NAME to tray, to scrapped or to missing.");
        e.whereabouts = *to;
        if (const auto good = extras(e); !good)
            return tl::unexpected(good.error());
        return finish({std::move(e)});
    }

    Reading<std::vector<Entry>> about(Entry e) {
        int number = 0;
        const std::string text = next();
        const bool read = read_count(text, number);
        const auto found = std::find_if(c_.entries.begin(), c_.entries.end(),
                                        [&](const Entry& one) { return read && one.number == number; });
        if (found == c_.entries.end())
            return mistake(fmt::format("The log has no entry {}.", text.empty() ? "?" : text),
                           "`boltwalk log MAP` prints the entries with their numbers.");
        e.about = found->key;
        e.named = found->named;
        e.item = found->item;
        if (e.deed == Deed::settled && !at_end()) {
            const std::string word = next();
            const auto duty = read_duty(word);
            if (!duty || *duty == Duty::none)
                return mistake(fmt::format("\"{}\" is nothing that follows from an entry.", word),
                               "One of: buy, repair-hole, chase-thread, clear-hole, come-back, undo-night, put-back.");
            e.duty = *duty;
        }
        return finish({std::move(e)});
    }

    const LineContext& c_;
    const Map& map_;
    Line line_;
    std::size_t at_ = 0;
};

} // namespace

Reading<std::vector<Entry>> read_line(const LineContext& context, std::string_view line) {
    const std::string text(trimmed(line));
    if (text.empty() || text.front() == '#')
        return std::vector<Entry>{};
    // Names of needs hold colons.
    constexpr std::string_view ticked = "ticked ";
    if (text.starts_with(ticked)) {
        Entry e;
        e.deed = Deed::ticked;
        e.words = trimmed(std::string_view(text).substr(ticked.size()));
        return std::vector<Entry>{std::move(e)};
    }
    auto split_line = split(text);
    if (!split_line)
        return tl::unexpected(split_line.error());
    return Reader(context, std::move(*split_line)).read();
}

} // namespace boltwalk
