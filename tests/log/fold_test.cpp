#include "core/log/ledger.hpp"
#include <doctest/doctest.h>
