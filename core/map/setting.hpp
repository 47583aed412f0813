// One value of the annotation on its way into one item. Not for others.
#pragma once

#include <fmt/format.h>

#include "core/map/annotate.hpp"
#include "core/map/values.hpp"

namespace boltwalk {

/// One value on its way into one item.
struct Setting {
    Annotator& annotator;
    Stated& source; ///< the item's own node, or its group's
    KeyId key;
    TokenId token;
    ItemId item;
    bool inherited;

    const Json& json() const { return annotator.json; }

    void report(std::string_view rule, Weight weight, const Mistake& mistake, std::string why) const {
        if (source.reported[static_cast<std::size_t>(key)]) {
            return;
        }
        source.reported.set(static_cast<std::size_t>(key));
        annotator.add(weight, rule, source.node, key_of(key).name, shown_value(json(), token), mistake.what,
                      std::move(why), mistake.remedy);
    }

    template <typename From, typename To>
    void take(Reading<From>&& reading, To& field) const {
        if (reading) {
            field = static_cast<To>(std::move(*reading));
        } else {
            report("unreadable-value", Weight::fault, reading.error(), "It is read as not stated.");
        }
    }

    void text(std::string& field) const {
        Reading<std::string> reading = text_value(json(), token);
        if (reading && inherited) {
            annotator.inherited_text += reading->size();
            if (annotator.inherited_text > inherited_text_limit) {
                report("too-much-text", Weight::fault,
                       {"The texts that groups pass on add up to more than is kept.", "Shorten them."}, "");
                return;
            }
        }
        take(std::move(reading), field);
    }

    void positive(std::optional<double>& field, double most) const {
        const Reading<double> reading = number_value(json(), token, key_of(key));
        if (!reading) {
            report("wrong-unit", Weight::fault, reading.error(), "It is read as not stated.");
        } else if (!(*reading > 0 && *reading <= most)) {
            report("unreadable-value", Weight::fault,
                   {fmt::format("It should be more than 0 and at most {}.", print_number(most)), "Correct the number."},
                   "It is read as not stated.");
        } else {
            field = *reading;
        }
    }

    template <typename T>
    void choice(T& field, std::size_t first = 0) const {
        const Reading<std::size_t> reading = choice_value(json(), token, key_of(key));
        if (reading) {
            field = static_cast<T>(*reading + first);
        } else {
            report("unknown-word", Weight::fault, reading.error(), "It is read as not stated.");
        }
    }

    void word(std::string& field) const {
        std::size_t place = choices_of(key_of(key)).size();
        choice(place);
        if (place < choices_of(key_of(key)).size()) {
            field = choices_of(key_of(key))[place];
        }
    }

    /// A list of names: kept as written until every item is known.
    void names() const {
        const std::uint64_t slot = static_cast<std::uint64_t>(source.node) * key_count + static_cast<std::size_t>(key);
        auto known = annotator.list_of.find(slot);
        if (known == annotator.list_of.end()) {
            NamesStated list;
            list.node = source.node;
            list.key = key;
            std::string all;
            text(all);
            list.names = split_list(all);
            known = annotator.list_of.emplace(slot, static_cast<std::int32_t>(annotator.lists.size())).first;
            annotator.lists.push_back(std::move(list));
        }
        annotator.uses.push_back({item, key, known->second});
    }
};

template <typename Read>
auto read_text(const Setting& setting, const Read& read) -> decltype(read(std::string_view())) {
    const Reading<std::string> text = text_value(setting.json(), setting.token);
    if (!text) {
        return tl::unexpected(text.error());
    }
    return read(*text);
}

// The keys that only one kind of item has; any other key is left alone.
void set_fastener(const Setting&, Fastener&);
void set_part(const Setting&, Part&);
void set_task(const Setting&, Task&);

} // namespace boltwalk
