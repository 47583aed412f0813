// Values out of a recipe's tree, each mistake told with its place. For core/block only.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <glm/glm.hpp>

#include "core/block/tree.hpp"
#include "core/map/map.hpp"

namespace boltwalk::recipe {

/// Millimetres: 12, "12 mm", "1/2 in". `what` names the thing in a message: "box".
std::optional<double> take_mm(const Value&, std::string_view what, Notes&);
/// Above 0, at least what is drawn at all, at most 20 m.
std::optional<double> take_size(const Value&, std::string_view what, Notes&);
std::optional<std::vector<double>> take_sizes(const Value&, std::size_t count, std::string_view what, Notes&);
std::optional<glm::dvec3> take_point(const Value&, std::string_view what, Notes&);
std::optional<int> take_count(const Value&, int least, int most, std::string_view what, Notes&);
std::optional<Way> take_way(const Value&, std::string_view what, Notes&);
std::optional<std::string> take_text(const Value&, std::string_view what, Notes&);
/// A text with ";" between, or a list of texts.
std::optional<std::vector<std::string>> take_names(const Value&, std::string_view what, Notes&);

std::optional<Way> find_way(std::string_view word);
/// Of a face: "top" and "bottom" besides "up" and "down".
std::optional<Way> find_face(std::string_view word);
std::string_view face_name(Way);

/// Tells every member of a table that is none of these words.
void only_these(const Value& table, std::initializer_list<std::string_view> words, std::string_view of, Notes&);
/// The near one of these, or the only one that begins so; empty where there is none.
std::string near_word(std::string_view word, const std::vector<std::string>& of);
/// " Did you mean box?", or nothing: the near one of these.
std::string near_one(std::string_view word, const std::vector<std::string>& of);

} // namespace boltwalk::recipe
