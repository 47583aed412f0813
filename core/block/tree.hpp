// A recipe's text as a tree whose every value knows its place. For core/block only; toml++ is seen by tree.cpp alone.
#pragma once

#include <string>
#include <string_view>
#include <tl/expected.hpp>
#include <vector>

#include "core/block/block.hpp"

namespace boltwalk::recipe {

struct Mark {
    int line = 0, column = 0;
};

struct Member;
struct Value {
    enum class Kind { text, number, yes_no, list, table };
    Kind kind = Kind::table;
    Mark mark;
    std::string text;   ///< of a text
    double number = 0;  ///< of a number: finite, below 1e15 in size
    bool whole = false; ///< the number was written without a point
    bool yes = false;   ///< of a yes/no
    std::vector<Value> list;
    std::vector<Member> members; ///< of a table, in the order of the text

    bool is(Kind k) const { return kind == k; }
    const Member* find(std::string_view key) const;
};
struct Member {
    std::string key;
    Mark mark;
    Value value;
};

/// What the text says, or why it is no TOML.
tl::expected<Value, RecipeNote> read_tree(std::string_view text);

/// "a text", "a list", ...
std::string_view spoken(Value::Kind);

/// All that is wrong with a recipe, as it is found. Only so many are kept.
class Notes {
public:
    void fault(Mark mark, const std::string& what, const std::string& remedy) {
        add(Weight::fault, mark, what, remedy);
    }
    void doubt(Mark mark, const std::string& what, const std::string& remedy) {
        add(Weight::doubt, mark, what, remedy);
    }
    void add(Weight weight, Mark mark, const std::string& what, const std::string& remedy);
    bool faulty() const { return faulty_; }
    std::vector<RecipeNote> list;

private:
    bool faulty_ = false;
};

} // namespace boltwalk::recipe
