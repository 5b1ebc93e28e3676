#include "switching/faults.hpp"

#include "circuit/kinds.hpp"

#include <algorithm>

namespace stopspan {
namespace {

// Takes every end of the device's that is wired to this terminal off its net and puts it on another.
class WireOff {
public:
    WireOff(Compiled &circuit, const Device &device, const Fault &fault, std::uint32_t net, std::uint32_t loose)
        : circuit_(circuit), device_(device), fault_(fault), net_(net), loose_(loose) {}

    bool take_off() {
        bool contact_terminal = false;
        for (Switch &one : circuit_.switches) {
            if (one.device != fault_.device)
                continue;
            const auto [a, b] = ends_at(device_, one, fault_.terminal);
            if (a)
                contact_terminal |= move(one.a);
            if (b)
                contact_terminal |= move(one.b);
        }
        if (contact_terminal)
            return true;
        for (Impedance &one : circuit_.impedances)
            if (one.device == fault_.device && !moves_by_coil(one))
                move_any({&one.a, &one.b});
        for (Armature &one : circuit_.armatures)
            if (one.device == fault_.device)
                take_off_coil(one);
        for (MotorSeen &one : circuit_.motors)
            if (one.device == fault_.device) {
                for (std::uint32_t &net : one.nets)
                    move(net);
                for (MotorSeen::Winding &winding : one.windings)
                    move_any({&winding.a, &winding.b});
                move_any({&one.run.first, &one.run.second, &one.torque_off.first, &one.torque_off.second});
            }
        for (LoadSeen &one : circuit_.loads)
            if (one.device == fault_.device)
                move_any({&one.a, &one.b});
        for (Source &one : circuit_.sources)
            if (one.device == fault_.device) {
                for (Source::Pole &pole : one.poles)
                    move(pole.net);
                move_any({&one.feed_a, &one.feed_b});
            }
        return moved_;
    }

private:
    bool move(std::uint32_t &end) {
        if (end != net_)
            return false;
        end = loose_;
        moved_ = true;
        return true;
    }
    void move_any(std::initializer_list<std::uint32_t *> ends) {
        for (std::uint32_t *end : ends)
            move(*end);
    }
    // Which end of a coil a terminal is, is known by its name; both may stand on one net.
    bool moves_by_coil(Impedance &one) {
        if (one.armature == none)
            return false;
        const char letter = fault_.terminal[0];
        const Armature &coil = circuit_.armatures[one.armature];
        const bool tripping = coil.e1 != none && coil.e1 == one.a && coil.e2 == one.b;
        if (letter == 'A' || (letter == 'C' && !tripping) || (letter == 'E' && tripping))
            move(fault_.terminal.ends_with('1') ? one.a : one.b);
        return true;
    }
    void take_off_coil(Armature &one) {
        const char letter = fault_.terminal[0];
        const bool first = fault_.terminal.ends_with('1');
        if (letter == 'A' || letter == 'C' || letter == 'L')
            move(first || letter == 'L' ? one.a1 : one.a2);
        else if (letter == 'E')
            move(first ? one.e1 : one.e2);
        else if (letter == 'P')
            move(one.a2);
        for (auto &[a, b] : one.inputs)
            move_any({&a, &b});
        move_any({&one.reset.first, &one.reset.second, &one.feedback.first, &one.feedback.second});
    }

    Compiled &circuit_;
    const Device &device_;
    const Fault &fault_;
    std::uint32_t net_, loose_;
    bool moved_ = false;
};

// The cone's variable that is this one of the whole circuit, and not only stands for it with others of a row.
std::uint32_t own_variable(const Cone &cone, std::uint32_t whole) {
    const auto at = std::find_if(cone.members.begin(), cone.members.end(),
                                 [&](const auto &members) { return !members.empty() && members.front() == whole; });
    return whole == none || at == cone.members.end() ? none : static_cast<std::uint32_t>(at - cone.members.begin());
}

} // namespace

std::pair<bool, bool> ends_at(const Device &device, const Switch &contact, const std::string &terminal) {
    const auto named = contact_at(device, contact.terminal);
    return {terminal == (named ? named->first : "1"), terminal == (named ? named->second : "2")};
}

std::vector<std::uint32_t> nets_of(const Circuit &circuit, const Compiled &compiled, const Fault &fault) {
    std::vector<std::uint32_t> nets;
    for (const std::uint32_t net : {fault.a, fault.b})
        if (net != none)
            nets.push_back(net);
    if (fault.kind == Fault::Kind::earth)
        nets.push_back(compiled.earth);
    if (fault.kind != Fault::Kind::stays_closed && fault.kind != Fault::Kind::stays_open && fault.device != none)
        for (const auto &terminal : circuit.devices()[fault.device].terminals)
            nets.push_back(terminal.net.value);
    return nets;
}

std::uint32_t add_fault(Cone &cone, const Circuit &circuit, const Compiled &compiled, const Fault &fault) {
    Compiled &part = cone.circuit;
    const auto at = static_cast<std::uint32_t>(part.variables.size());
    FaultSeen seen{.variable = at, .comes_and_goes = fault.comes_and_goes};
    if (fault.later && !part.faults.empty())
        seen.after = part.faults.back().variable;
    switch (fault.kind) {
    case Fault::Kind::earth:
    case Fault::Kind::bridge:
    case Fault::Kind::stays_closed: {
        const std::uint32_t a = cone.net_of[fault.a],
                            b = cone.net_of[fault.kind == Fault::Kind::earth ? compiled.earth : fault.b];
        if (a == none || b == none || a == b)
            return none;
        part.switches.push_back({.a = a, .b = b, .variable = at, .closed_at = 0b010, .device = none});
        break;
    }
    case Fault::Kind::broken:
    case Fault::Kind::stays_open: {
        const Device &device = circuit.devices()[fault.device];
        const std::uint32_t net = cone.net_of[device.net_of(fault.terminal)->value];
        const std::uint32_t loose = part.net_count;
        if (net == none || !WireOff(part, device, fault, net, loose).take_off())
            return none;
        ++part.net_count;
        part.net_names.push_back(device.designation + ":" + fault.terminal + " broken off");
        part.switches.push_back({.a = net, .b = loose, .variable = at, .closed_at = 0b001, .device = none});
        break;
    }
    case Fault::Kind::weld:
    case Fault::Kind::jam:
        seen.frozen = own_variable(cone, compiled.variable_of[fault.device]);
        if (seen.frozen == none)
            return none;
        break;
    case Fault::Kind::detach:
    case Fault::Kind::blind:
        return none;
    }
    part.variables.push_back({Variable::Kind::fault, fault.device});
    part.fuse_rating_a.push_back(0);
    part.faults.push_back(seen);
    cone.actors.push_back({.designation = fault.text});
    cone.members.emplace_back();
    cone.held.push_back(0);
    cone.held_unless_blown.push_back(0);
    return at;
}

void take_out_fault(Cone &cone) {
    Compiled &part = cone.circuit;
    if (!part.switches.empty() && part.switches.back().variable == part.faults.back().variable)
        part.switches.pop_back();
    part.faults.pop_back();
    part.variables.pop_back();
    part.fuse_rating_a.pop_back();
    cone.actors.pop_back();
    cone.members.pop_back();
    cone.held.pop_back();
    cone.held_unless_blown.pop_back();
}

} // namespace stopspan
