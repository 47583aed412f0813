#include <nlohmann/json.hpp>

#define TINYGLTF_IMPLEMENTATION
#include "core/map/tinygltf.hpp"
