#include "viewer/serve/qr.hpp"

#include <memory>

#include <qrencode.h>

namespace boltwalk {

QrCode qr_code(std::string_view text) {
    QrCode code;
    const std::unique_ptr<QRcode, void (*)(QRcode*)> made(
        QRcode_encodeString8bit(std::string(text).c_str(), 0, QR_ECLEVEL_M), QRcode_free);
    if (made == nullptr)
        return code;
    code.width = made->width;
    for (int i = 0; i < code.width * code.width; ++i)
        code.dark.push_back((made->data[i] & 1U) != 0);
    return code;
}

std::string qr_lines(const QrCode& code, bool colours) {
    constexpr int quiet = 4;
    std::string text;
    if (code.width == 0)
        return text;
    for (int y = -quiet; y < code.width + quiet; y += 2) {
        if (colours)
            text += "\033[30;107m";
        for (int x = -quiet; x < code.width + quiet; ++x) {
            const bool upper = code.at(x, y), lower = code.at(x, y + 1);
            text += upper ? (lower ? "█" : "▀") : (lower ? "▄" : " ");
        }
        if (colours)
            text += "\033[0m";
        text += '\n';
    }
    return text;
}

} // namespace boltwalk
