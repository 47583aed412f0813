// Whose file is it? For saving what was marked up.
#pragma once

#include <set>
#include <string>

namespace boltwalk {

/// By whatever way each is spelt.
bool is_same_file(const std::string& a, const std::string& b);
/// It is there, and none of those.
bool is_anothers(const std::string& path, const std::set<std::string>& written);

} // namespace boltwalk
