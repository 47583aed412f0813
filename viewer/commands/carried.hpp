// The web page as viewer/web/build wrote it, with a map put into it: what `page` writes and `serve` hands out.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <tl/expected.hpp>

#include "viewer/serve/serve.hpp"

namespace boltwalk {

/// Where viewer/web/build puts it: beside the program, or in the place of an installed one.
std::string page_folder();

/// One file of it; none when it is not there.
std::optional<std::string> of_page(const std::string& folder, const std::string& name);

/// Where a page was looked for, and how it is built.
std::string no_page(const std::string& folder);

/// The map, and of a .gltf the files that it names, as elements of the page; or why that cannot be.
tl::expected<std::string, std::string> map_as_elements(const std::string& path);

/// The page's text with `elements` in their place; none when this is no page that has one.
std::optional<std::string> page_with(std::string page, std::string_view elements);

/// All that is served of the page with that map in it, for an address with that code; or why that cannot be.
tl::expected<std::vector<Offered>, std::string> offered_of(const std::string& map, const std::string& folder,
                                                           const std::string& code);

} // namespace boltwalk
