#include "base/number_text.hpp"
#include "circuit/rating_text.hpp"
#include "lists/tables.hpp"

#include <algorithm>
#include <array>
#include <map>

namespace stopspan {
namespace {

using enum DeviceKind;

// "3 poles, 1 make, 1 break".
std::string contacts_text(const Device &device) {
    std::map<ContactSense, int> counts;
    for (const Contact &contact : contacts_of(device))
        ++counts[contact.sense];
    constexpr std::array<std::pair<ContactSense, std::string_view>, 7> words{
        {{ContactSense::pole, "pole"},
         {ContactSense::make, "make"},
         {ContactSense::break_, "break"},
         {ContactSense::delayed_make, "delayed make"},
         {ContactSense::delayed_break, "delayed break"},
         {ContactSense::trip_break, "trip break"},
         {ContactSense::trip_make, "trip make"}}};
    std::string text;
    for (const auto &[sense, word] : words)
        if (const auto found = counts.find(sense); found != counts.end())
            text += (text.empty() ? "" : ", ") + std::to_string(found->second) + " " + std::string(word) +
                    (sense == ContactSense::pole && found->second > 1 ? "s" : "");
    return text;
}

std::string full_rating(const Device &device) {
    const std::string coil = rating_text(device), poles = poles_rating_text(device);
    return coil + (coil.empty() || poles.empty() ? "" : ", ") + poles;
}

std::string sized_text(const Listed &listed, const Device &device) {
    for (const char *quantity : {"rated current AC-3", "rated current AC-4", "rated current AC-1", "overload setting",
                                 "rated current of the protection", "rated current of the control fuse", "rated power"})
        if (std::string text = listed.sized(device.designation, quantity); !text.empty())
            return text;
    return "";
}

// A wire that is a device of the circuit is no part to be bought.
bool is_bought(DeviceKind kind) {
    return kind != mains_3ph && kind != mains_1ph && kind != link && kind != cable;
}

} // namespace

List part_list(const Listed &listed) {
    List list{"parts",
              "Parts",
              "Rating: as stated. Sized: what the motor or load behind it needs; see the sizes for how.",
              {"quantity", "kind", "rating", "sized", "contacts", "designations"},
              {}};
    struct Kind {
        std::string kind, rating, sized, contacts;
        auto operator<=>(const Kind &) const = default;
    };
    std::map<Kind, std::vector<std::string>> parts;
    for (const Device &device : listed.circuit.devices())
        if (is_bought(device.kind))
            parts[{std::string(to_text(device.kind)), full_rating(device), sized_text(listed, device),
                   contacts_text(device)}]
                .push_back(device.designation);
    for (const auto &[kind, designations] : parts) {
        std::string all;
        for (const std::string &designation : designations)
            all += (all.empty() ? "" : ", ") + designation;
        list.rows.push_back(
            {std::to_string(designations.size()), kind.kind, kind.rating, kind.sized, kind.contacts, all});
    }
    if (!listed.cabling.terminals.empty())
        list.rows.push_back(
            {std::to_string(listed.cabling.terminals.size()), "terminal", "", "", "", "see terminal plan"});
    return list;
}

List setting_list(const Listed &listed) {
    List list{
        "settings",
        "Settings",
        "What is adjusted or chosen on each device. An empty value was stated by nobody; sized: what the motor or "
        "load behind it needs.",
        {"device", "where", "kind", "setting", "value", "unit", "sized"},
        {}};
    for (std::size_t i = 0; i < listed.circuit.devices().size(); ++i) {
        const Device &device = listed.circuit.devices()[i];
        const auto add = [&](std::string setting, std::string value, std::string unit = "",
                             std::string_view quantity = "") {
            list.rows.push_back({device.designation, listed.name_of(listed.locations.of_device[i]),
                                 std::string(to_text(device.kind)), std::move(setting), std::move(value),
                                 std::move(unit), listed.sized(device.designation, quantity)});
        };
        const auto number = [&](std::string_view parameter) {
            const auto value = device.number(parameter);
            return value ? format_number(*value) : "";
        };
        const auto word = [&](std::string_view parameter, std::string_view otherwise = "") {
            return std::string(device.word(parameter).value_or(otherwise));
        };
        switch (device.kind) {
        case overload:
            add("current", number("setting_a"), "A", "overload setting");
            add("trip class", word("trip_class"), "", "trip class");
            add("reset", word("reset"));
            break;
        case timer:
            add("delay", number("delay_s"), "s");
            add("delay acts", word("delay"));
            break;
        case stop_relay:
            add("channels", number("channels"));
            add("reset", word("reset"));
            break;
        case drive:
            add("when power returns", word("on_power_return"));
            break;
        case fuse:
            add("rating", number("rating_a"), "A",
                listed.sized(device.designation, "rated current of the protection").empty()
                    ? "rated current of the control fuse"
                    : "rated current of the protection");
            add("type", word("fuse_type"));
            break;
        default:
            break;
        }
        if (!listed.sized(device.designation, "fuse ahead of the motor").empty())
            add("protection ahead, not in the circuit", "", "", "fuse ahead of the motor");
    }
    return list;
}

} // namespace stopspan
