#include "circuit/rating_text.hpp"

#include "base/number_text.hpp"

#include <cmath>

namespace stopspan {
namespace {

using enum DeviceKind;

// Collects "2 A", "gG" ... as far as they are known.
class Words {
public:
    explicit Words(const Device &device) : device_(device) {}
    Words &number(std::string_view parameter, std::string_view unit, std::string_view before = "") {
        if (const auto value = device_.number(parameter))
            add(std::string(before) + format_fixed(*value, 3) + " " + std::string(unit));
        return *this;
    }
    Words &word(std::string_view parameter, std::string_view before = "") {
        if (const auto value = device_.word(parameter))
            add(std::string(before) + std::string(*value));
        return *this;
    }
    std::string text() const { return text_; }

private:
    void add(const std::string &word) { text_ += (text_.empty() ? "" : " ") + word; }
    const Device &device_;
    std::string text_;
};

} // namespace

std::string rating_text(const Device &device) {
    Words words(device);
    switch (device.kind) {
    case mains_3ph: {
        const double neutral_v = device.number("voltage_v").value_or(230);
        // The nominal pair is written as it is spoken: 400/230 V, not 398/230 V.
        const double line_v = std::round(neutral_v * std::sqrt(3.0) / 5) * 5;
        return "3/N ~ " + format_fixed(device.number("frequency_hz").value_or(50), 1) + " Hz " +
               format_fixed(line_v, 0) + "/" + format_fixed(neutral_v, 0) + " V";
    }
    case mains_1ph:
        return "1/N ~ " + format_fixed(device.number("frequency_hz").value_or(50), 1) + " Hz " +
               format_fixed(device.number("voltage_v").value_or(230), 0) + " V";
    case dc_supply:
        return words.number("voltage_v", "V DC").number("power_w", "W").text();
    case transformer:
        return words.number("secondary_v", "V AC").number("rating_va", "VA").text();
    case fuse:
        return words.number("rating_a", "A").word("fuse_type").text();
    case overload:
        return words.number("setting_a", "A").word("trip_class", "class ").text();
    case contactor:
    case relay:
    case timer:
    case latched_contactor:
    case stop_relay:
        return words.number("coil_voltage_v", "V").word("coil_current").number("delay_s", "s").text();
    case motor_1ph:
    case motor_3ph:
    case motor_6lead:
    case motor_2speed:
    case drive:
        return words.number("power_kw", "kW").number("voltage_v", "V").text();
    case lamp:
    case load:
        return words.number("voltage_v", "V").number("current_a", "A").text();
    case resistor:
        return words.number("resistance_ohm", "\u03A9").text();
    case capacitor:
        return words.number("capacitance_uf", "\u00B5F").text();
    case cable:
        return words.number("length_m", "m").number("csa_mm2", "mm\u00B2").text();
    default:
        return words.number("rating_a", "A").text();
    }
}

std::string poles_rating_text(const Device &device) {
    return Words(device).number("ac3_rating_a", "A", "AC-3 ").text();
}

} // namespace stopspan
