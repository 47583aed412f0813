// tinygltf as this program has it: no decoder of images, its JSON library from the distribution. Whoever includes it
// does so through here, for its classes change with these settings; tinygltf.cpp compiles it, once.
#pragma once

#define TINYGLTF_NO_INCLUDE_JSON
#define TINYGLTF_NO_STB_IMAGE
#define TINYGLTF_NO_STB_IMAGE_WRITE
#define TINYGLTF_NO_INCLUDE_STB_IMAGE
#define TINYGLTF_NO_INCLUDE_STB_IMAGE_WRITE
#include <tiny_gltf.h>
