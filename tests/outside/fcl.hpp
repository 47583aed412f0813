// FCL, an independent library, as the outside checks use it; its headers do not bear our warnings.
#pragma once

#ifndef BOLTWALK_FCL
#error "FCL is not there: run third_party/install, which installs what third_party/packages.txt lists (libfcl-dev)"
#endif
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wconversion"
#pragma GCC diagnostic ignored "-Wsign-conversion"
#include <fcl/fcl.h>
#pragma GCC diagnostic pop
