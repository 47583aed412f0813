#include "core/map/setting.hpp"

namespace boltwalk {

namespace {

constexpr double longest_fastener_mm = 5000;
constexpr double longest_soak_min = 10080; // a week

} // namespace

void set_fastener(const Setting& setting, Fastener& fastener) {
    const Json& json = setting.json();
    switch (setting.key) {
    case KeyId::joint:
        setting.text(fastener.joint);
        break;
    case KeyId::stack:
        setting.take(whole_value(json, setting.token, 0), fastener.stack);
        break;
    case KeyId::turn:
        setting.word(fastener.turn);
        break;
    case KeyId::head:
        setting.word(fastener.head);
        break;
    case KeyId::slot:
        setting.word(fastener.slot);
        break;
    case KeyId::hand:
        setting.choice(fastener.hand);
        break;
    case KeyId::frees_when:
        setting.choice(fastener.frees_when);
        break;
    case KeyId::counter_from:
        setting.choice(fastener.counter_from, 1);
        break;
    case KeyId::thread:
        setting.take(read_text(setting, read_thread), fastener.thread);
        break;
    case KeyId::drive:
        setting.take(read_text(setting, read_drive), fastener.drive);
        break;
    case KeyId::torque:
        setting.take(read_text(setting, read_torque), fastener.torque);
        break;
    case KeyId::length_mm:
        setting.positive(fastener.length_mm, longest_fastener_mm);
        break;
    case KeyId::soak_min:
        setting.positive(fastener.soak_min, longest_soak_min);
        break;
    case KeyId::grade:
        setting.text(fastener.grade);
        break;
    case KeyId::counter:
        setting.text(fastener.counter);
        break;
    case KeyId::pattern:
        setting.text(fastener.pattern);
        break;
    case KeyId::passes:
        setting.take(passes_value(json, setting.token), fastener.passes);
        break;
    case KeyId::lock:
        setting.text(fastener.lock);
        break;
    case KeyId::condition:
        setting.text(fastener.condition);
        break;
    case KeyId::renew:
        setting.take(yes_no_value(json, setting.token), fastener.renew);
        break;
    case KeyId::own_place:
        setting.take(yes_no_value(json, setting.token), fastener.own_place);
        break;
    case KeyId::axis:
        setting.take(axis_value(json, setting.token), fastener.axis);
        break;
    default:
        break;
    }
}

} // namespace boltwalk
