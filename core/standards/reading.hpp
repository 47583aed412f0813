// What the readers of threads, drives and hardware share; no other module includes this.
#pragma once

#include <cmath>
#include <string>
#include <string_view>
#include <tl/expected.hpp>
#include <utility>

#include "core/measure/measure.hpp"

namespace boltwalk {

inline constexpr int figures = 6; ///< after the point: what the author wrote is not rounded

inline tl::unexpected<Mistake> wrong(std::string what, std::string remedy) {
    return tl::unexpected(Mistake{std::move(what), std::move(remedy)});
}

/// Widths across flats, millimetres, to what the tables print.
inline bool same(double a, double b) {
    return std::abs(a - b) < 0.01;
}

/// "class 8.8", "SAE grade 5", "10,9" -> "8.8", "5", "10.9": small letters, no blanks (grade.cpp).
std::string plain_grade(std::string_view grade);

constexpr double in(double inches) {
    return inches * mm_per_inch;
}

} // namespace boltwalk
