#include "sheets/parts.hpp"

#include "circuit/rating_text.hpp"

#include <algorithm>
#include <array>
#include <set>

namespace stopspan {
namespace {

using enum DeviceKind;

using Names = std::vector<std::string>;

// Terminals that make one symbol, in the order of its connection points.
Names machine_terminals(DeviceKind kind) {
    switch (kind) {
    case motor_1ph:
        return {"L", "N"};
    case motor_3ph:
        return {"U", "V", "W"};
    case motor_6lead: // winding ends in the order that lets a delta contactor join them without a crossing
        return {"U1", "V1", "W1", "W2", "U2", "V2"};
    case motor_2speed:
        return {"U1", "V1", "W1", "U2", "V2", "W2"};
    case drive:
        return {"R", "S", "T"};
    default:
        return {};
    }
}

class Splitter {
public:
    Splitter(const Device &device, DeviceId id, const StripTerminals &strips, std::vector<Part> &parts)
        : device_(device), id_(id), strips_(strips), parts_(parts) {}

    // Makes a part of those of the terminals that are wired; nothing when none is.
    void part(PartRole role, std::string symbol, const Names &terminals) {
        Part part{id_, role, std::move(symbol), {}, rating_text(device_)};
        if (role == PartRole::contact || part.symbol == "INPUT")
            part.rating.clear(); // what is known is of the coil or the motor
        if (role == PartRole::poles && has_coil(device_.kind))
            part.rating = poles_rating_text(device_);
        const SymbolShape &shape = symbol_shape(part.symbol);
        for (const std::string &terminal : terminals) {
            const auto net = device_.net_of(terminal);
            if (!net)
                continue;
            done_.insert(terminal);
            const std::size_t point = part.pins.size();
            part.pins.push_back(
                {terminal, *net, shape.symbol.connection_points[point].second.x_mm, shape.upper(point)});
            if (const auto strip = strips_.find(device_.designation + ":" + terminal); strip != strips_.end())
                part.pins.back().strip = strip->second;
        }
        if (part.pins.empty())
            return;
        part.reference_at = shape.reference_at;
        part.reference_align = part.symbol == "INPUT" ? Align::left : Align::right;
        measure(part, shape);
        parts_.push_back(std::move(part));
    }

    Names wired(const Names &terminals) const {
        Names found;
        for (const std::string &terminal : terminals)
            if (device_.net_of(terminal) && !done_.contains(terminal))
                found.push_back(terminal);
        return found;
    }

    void split() {
        const std::size_t begin = parts_.size();
        switch (device_.kind) {
        case mains_3ph:
        case mains_1ph: {
            const Names poles = wired({"L1", "L2", "L3", "L", "N"});
            part(PartRole::source, device_symbol(device_, poles.size()), poles);
            break;
        }
        case dc_supply: {
            const Names poles = wired({"P", "M", "ac1", "ac2"});
            part(PartRole::supply, device_symbol(device_, poles.size()), poles);
            break;
        }
        case transformer: {
            const Names ends = wired({"p1", "p2", "s1", "s2"});
            part(PartRole::supply, device_symbol(device_, ends.size()), ends);
            break;
        }
        case motor_1ph:
        case motor_3ph:
        case motor_6lead:
        case motor_2speed:
        case drive:
            part(PartRole::motor, device_symbol(device_, 0), machine_terminals(device_.kind));
            break;
        default:
            break;
        }
        for (const auto &[first, second] : {std::pair{"A1", "A2"}, {"C1", "C2"}, {"E1", "E2"}})
            if (has_coil(device_.kind) && device_.net_of(first))
                part(PartRole::load, coil_symbol(device_, first), {first, second});
        const std::size_t first = parts_.size();
        poles();
        for (const Contact &contact : contacts_of(device_))
            if (!done_.contains(contact.first))
                part(PartRole::contact, contact_symbol(device_, contact.sense), {contact.first, contact.second});
        rest();
        if (device_.kind == drive)
            refer_to_inputs(begin);
        else if (!has_coil(device_.kind))
            refer(first);
    }

private:
    // Contacts of a stop device, an overload or an isolator act in many circuits: each says where others are.
    void refer(std::size_t first) {
        std::vector<std::size_t> moved;
        for (std::size_t i = first; i < parts_.size(); ++i)
            if (parts_[i].role == PartRole::contact || parts_[i].role == PartRole::poles)
                moved.push_back(i);
        for (const std::size_t i : moved) {
            if (moved.size() < 2)
                return;
            Part &part = parts_[i];
            part.elsewhere =
                i == moved.front() ? std::vector(moved.begin() + 1, moved.end()) : std::vector{moved.front()};
            part.reference_room_mm = reference_width_mm(part.elsewhere.size() - 1);
            const SymbolShape &shape = symbol_shape(part.symbol);
            // What moves the contact is drawn at its left; a contact has no rating at its right.
            const bool right = part.role == PartRole::contact && device_.kind != isolator;
            part.reference_at = right ? shape.rating_at : shape.reference_at;
            part.reference_align = right ? Align::left : Align::right;
            if (right)
                part.right_mm = std::max(part.right_mm, part.reference_at.x_mm + part.reference_room_mm);
            else
                part.left_mm = std::max(part.left_mm, part.reference_room_mm - part.reference_at.x_mm);
        }
    }

    // A drive's inputs stand in control circuits: beside the drive is a list of them, beside each where the drive is.
    void refer_to_inputs(std::size_t first) {
        if (first == parts_.size() || parts_[first].role != PartRole::motor)
            return;
        Part &power = parts_[first];
        const SymbolShape &shape = symbol_shape(power.symbol);
        power.reference_at = shape.reference_at;
        for (std::size_t i = first + 1; i < parts_.size(); ++i) {
            power.elsewhere.push_back(i);
            power.right_mm = std::max(power.right_mm, power.reference_at.x_mm + place_line_width_mm(parts_[i]));
            parts_[i].elsewhere = {first};
            parts_[i].reference_room_mm = reference_width_mm();
        }
    }

    // A relay's poles are contacts, each where it acts; of other devices they are one block.
    void poles() {
        Names block;
        for (const Contact &contact : contacts_of(device_)) {
            if (contact.sense != ContactSense::pole)
                continue;
            if (device_.kind == relay)
                part(PartRole::contact, "MAKE_CONTACT", {contact.first, contact.second});
            else
                block.insert(block.end(), {contact.first, contact.second});
        }
        if (!block.empty())
            part(PartRole::poles, pole_symbol(device_.kind, block.size() / 2), block);
    }

    // What is left goes in pairs: two ends of a device, of an input, of a cable core.
    void rest() {
        std::vector<std::string> left;
        for (const Device::Terminal &terminal : device_.terminals)
            if (!done_.contains(terminal.name))
                left.push_back(terminal.name);
        std::sort(left.begin(), left.end());
        for (std::size_t i = 0; i < left.size(); i += 2) {
            Names pair{left[i]};
            if (i + 1 < left.size())
                pair.push_back(left[i + 1]);
            if (device_.kind == insulation_monitor) // its line above, earth below
                std::sort(pair.begin(), pair.end(), [](const auto &a, const auto &b) { return a == "L" && b != "L"; });
            const bool series = device_.kind == fuse || device_.kind == link || device_.kind == resistor ||
                                device_.kind == capacitor || device_.kind == cable;
            const bool input = device_.kind == drive || device_.kind == stop_relay;
            part(series ? PartRole::series : PartRole::load, input ? "INPUT" : device_symbol(device_, pair.size()),
                 pair);
        }
    }

    void measure(Part &part, const SymbolShape &shape) const {
        part.left_mm = std::max(-shape.extent.left,
                                text_width_mm(device_.designation, normal_text_mm) - shape.designation_at.x_mm);
        part.right_mm = shape.extent.right;
        for (std::size_t i = 0; i < part.pins.size(); ++i)
            part.right_mm = std::max(part.right_mm,
                                     shape.terminal_at[i].x_mm + text_width_mm(part.pins[i].terminal, small_text_mm));
        for (std::size_t i = 0; part.two_ended() && i < part.pins.size(); ++i)
            if (!part.pins[i].strip.empty())
                part.right_mm =
                    std::max(part.right_mm, part.strip_at(i).x_mm + text_width_mm(part.pins[i].strip, small_text_mm));
        if (const std::string strips = part.strips(); !strips.empty())
            part.right_mm = std::max(part.right_mm, part.strips_at().x_mm + text_width_mm(strips, small_text_mm));
        const bool shows_rating = !part.rating.empty() && !(part.role == PartRole::load && has_coil(device_.kind));
        if (shows_rating)
            part.right_mm = std::max(part.right_mm, shape.rating_at.x_mm + text_width_mm(part.rating, small_text_mm));
        if (part.symbol == "INPUT")
            part.right_mm = std::max(part.right_mm, part.reference_at.x_mm + reference_width_mm());
        if (part.role == PartRole::contact && has_coil(device_.kind))
            part.left_mm = std::max(part.left_mm, reference_width_mm() - shape.reference_at.x_mm);
    }

    const Device &device_;
    DeviceId id_;
    const StripTerminals &strips_;
    std::vector<Part> &parts_;
    std::set<std::string> done_;
};

} // namespace

std::string Part::terminals() const {
    std::string text;
    for (const Pin &pin : pins)
        text += (text.empty() ? "" : "-") + pin.terminal;
    return text;
}

std::string Part::strips() const {
    if (two_ended())
        return "";
    std::string text, strip;
    for (const Pin &pin : pins) {
        const auto colon = pin.strip.rfind(':');
        if (pin.strip.empty())
            continue;
        if (pin.strip.substr(0, colon) != strip) {
            strip = pin.strip.substr(0, colon);
            text += (text.empty() ? "" : " ") + strip + ":";
        }
        text += " " + pin.strip.substr(colon + 1);
    }
    return text;
}

Point Part::strip_at(std::size_t pin) const {
    constexpr double gap_mm = 1.5;
    double number_mm = 0; // of the wider one: a part may be drawn turned
    for (const Pin &each : pins)
        number_mm = std::max(number_mm, text_width_mm(each.terminal, small_text_mm));
    const Point number = symbol_shape(symbol).terminal_at[pin];
    return {number.x_mm + number_mm + gap_mm, number.y_mm};
}

Point Part::strips_at() const {
    const Point at = symbol_shape(symbol).rating_at;
    if (role == PartRole::source) // the names of its poles stand below
        return {at.x_mm, at.y_mm + small_line_mm};
    return rating.empty() ? at : Point{at.x_mm, at.y_mm - small_line_mm};
}

bool has_coil(DeviceKind kind) {
    return kind == contactor || kind == relay || kind == timer || kind == latched_contactor || kind == stop_relay;
}

double reference_width_mm(std::size_t more) {
    static const double width = text_width_mm("88/88", small_text_mm);
    return more == 0 ? width : width + text_width_mm(and_more(more), small_text_mm);
}

std::string place_label(const Part &part) {
    return part.role == PartRole::poles ? "poles" : part.terminals();
}

double place_line_width_mm(const Part &part) {
    return text_width_mm(place_label(part) + " ", small_text_mm) + reference_width_mm();
}

std::string and_more(std::size_t more) {
    return " +" + std::to_string(more);
}

std::vector<Part> parts_of(const Circuit &circuit, const StripTerminals &strips) {
    std::vector<Part> parts;
    const auto devices = circuit.devices();
    for (std::uint32_t i = 0; i < devices.size(); ++i)
        Splitter(devices[i], {i}, strips, parts).split();
    return parts;
}

} // namespace stopspan
