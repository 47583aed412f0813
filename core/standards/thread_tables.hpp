// The tables behind read_thread. For core/standards only.
#pragma once

#include <span>
#include <string_view>

namespace boltwalk {

/// One diameter of ISO 261 with its pitches; 0 where there is none, the fine ones from coarse to fine.
struct MetricSize {
    double diameter_mm;
    double coarse_mm;
    double fine_mm[4];
};
std::span<const MetricSize> metric_sizes();

/// One diameter of ASME B1.1: threads per inch of each series, 0 where the standard has none.
struct UnifiedSize {
    std::string_view name; ///< "#10", "3/8", "1-1/8"
    double diameter_in;
    double unc, unf, unef, un8;
};
std::span<const UnifiedSize> unified_sizes();

/// One nominal size of a pipe thread: major diameter (for NPT the outside diameter of the pipe) and threads per inch.
struct PipeSize {
    std::string_view name;
    double size_in;
    double diameter_mm;
    double per_inch;
    bool parallel_only; ///< in ISO 228-1 (G) but not in ISO 7-1 (R, Rc, Rp)
};
std::span<const PipeSize> whitworth_pipe_sizes(); ///< ISO 228-1, ISO 7-1
std::span<const PipeSize> npt_sizes();            ///< ASME B1.20.1

} // namespace boltwalk
