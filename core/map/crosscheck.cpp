#include "core/map/annotate.hpp"
namespace boltwalk {
void cross_check(Annotator&) {}
} // namespace boltwalk
