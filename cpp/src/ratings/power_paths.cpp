#include "ratings/power_paths.hpp"

#include "ratings/contactor.hpp"

#include <boost/pending/disjoint_sets.hpp>

#include <algorithm>
#include <array>
#include <set>

namespace stopspan::ratings {
namespace {

std::uint32_t other_end(const Switch &contact, std::uint32_t net) {
    return contact.a == net ? contact.b : contact.a;
}

class Paths {
public:
    Paths(const Compiled &circuit, const Lookup &lookup)
        : circuit_(circuit), lookup_(lookup), ways_(circuit, lookup), wires_(circuit.net_count) {
        for (const Variable &variable : circuit.variables)
            armature_.push_back(variable.kind == Variable::Kind::armature);
        for (const Switch &contact : circuit.switches) // overload poles, cores, links: always closed
            if ((contact.variable == none || circuit.variables[contact.variable].kind == Variable::Kind::overload) &&
                contact.closed_at != 0 && steps(contact.a) != 0 && steps(contact.b) != 0)
                wires_.union_set(contact.a, contact.b);
    }

    MotorPath of(std::uint32_t index) {
        const MotorSeen &motor = circuit_.motors[index];
        MotorPath path{.motor = index, .elements = {}, .sources = {}, .poles = {}, .reversing = {}};
        const std::set<std::uint32_t> contacts = ways_.from(motor.nets, &path.poles);
        for (std::uint32_t s = 0; s < circuit_.sources.size(); ++s)
            if (std::ranges::any_of(circuit_.sources[s].poles,
                                    [&](const Source::Pole &pole) { return path.poles.contains(pole.net); }))
                path.sources.push_back(s);
        const bool six_leads = motor.kind == DeviceKind::motor_6lead || motor.kind == DeviceKind::motor_2speed;
        const std::set<std::uint32_t> star = six_leads ? star_contactors(motor) : std::set<std::uint32_t>{};
        for (const std::uint32_t i : contacts)
            if (!star.contains(circuit_.switches[i].device))
                path.elements.push_back(element(motor, contacts, star, i));
        for (const std::uint32_t device : star)
            for (const std::uint32_t i : lookup_.poles_of[circuit_.variable_of[device]])
                path.elements.push_back({.contact = i,
                                         .share = motor.kind == DeviceKind::motor_6lead ? star_share() : 0.5,
                                         .star_point = true,
                                         .fast = motor.kind == DeviceKind::motor_2speed});
        path.starts_in_star = motor.kind == DeviceKind::motor_6lead && !star.empty();
        path.reversing = reversing(motor, contacts);
        return path;
    }

private:
    std::uint32_t other(std::uint32_t contact, std::uint32_t net) const {
        return other_end(circuit_.switches[contact], net);
    }
    std::uint32_t steps(std::uint32_t net) const { return ways_.steps(net); }
    std::uint32_t piece(std::uint32_t net) { return static_cast<std::uint32_t>(wires_.find_set(net)); }
    bool is_contactor(const Switch &contact) const {
        return contact.variable != none && armature_[contact.variable] && contact.pole;
    }
    // Nets that wires join to one.
    std::vector<std::uint32_t> joined_to(std::uint32_t start) {
        std::vector<std::uint32_t> nets{start};
        for (std::size_t k = 0; k < nets.size(); ++k)
            for (const std::uint32_t i : lookup_.switches_at[nets[k]])
                if (const std::uint32_t far = other(i, nets[k]);
                    piece(far) == piece(start) && std::ranges::find(nets, far) == nets.end())
                    nets.push_back(far);
        return nets;
    }

    // Contactors whose poles join winding ends of one kind (U1 V1 W1, or U2 V2 W2) with each other, or with a point
    // that nothing else hangs on.
    std::set<std::uint32_t> star_contactors(const MotorSeen &motor) {
        std::array<std::set<std::uint32_t>, 2> ends, nets; // pieces of wire, and the nets in them
        for (std::size_t i = 0; i < motor.nets.size(); ++i) {
            ends[i / 3].insert(piece(motor.nets[i]));
            const auto joined = joined_to(motor.nets[i]);
            nets[i / 3].insert(joined.begin(), joined.end());
        }
        std::set<std::uint32_t> found;
        for (std::size_t kind = 0; kind < ends.size(); ++kind) {
            const auto &of_kind = ends[kind];
            std::map<std::uint32_t, std::map<std::uint32_t, int>> points; // device -> far piece -> poles
            for (const std::uint32_t net : nets[kind]) {
                for (const std::uint32_t i : lookup_.switches_at[net]) {
                    const std::uint32_t far = other(i, net);
                    if (!is_contactor(circuit_.switches[i]) || steps(far) == 0)
                        continue;
                    const std::uint32_t to = piece(far);
                    if (of_kind.contains(to) && to != piece(net))
                        found.insert(circuit_.switches[i].device);
                    else if (!ends[0].contains(to) && !ends[1].contains(to))
                        ++points[circuit_.switches[i].device][to];
                }
            }
            for (const auto &[device, far] : points)
                for (const auto &[point, count] : far)
                    if (count > 1)
                        found.insert(device);
        }
        return found;
    }

    // Which winding ends a contact feeds: those met on ways that lead no nearer to a source.
    Element element(const MotorSeen &motor, const std::set<std::uint32_t> &contacts,
                    const std::set<std::uint32_t> &star, std::uint32_t index) {
        const Switch &contact = circuit_.switches[index];
        Element made{.contact = index};
        if (motor.kind != DeviceKind::motor_6lead && motor.kind != DeviceKind::motor_2speed)
            return made;
        const std::uint32_t down = steps(contact.a) > steps(contact.b) ? contact.a : contact.b;
        std::set<std::uint32_t> seen{down};
        std::vector<std::uint32_t> queue{down};
        for (std::size_t k = 0; k < queue.size(); ++k)
            for (const std::uint32_t i : lookup_.switches_at[queue[k]]) {
                const std::uint32_t far = other(i, queue[k]);
                if (contacts.contains(i) && !star.contains(circuit_.switches[i].device) && i != index &&
                    steps(far) >= steps(queue[k]) && seen.insert(far).second)
                    queue.push_back(far);
            }
        std::array<int, 2> fed{};
        for (std::size_t i = 0; i < motor.nets.size(); ++i)
            fed[i / 3] += seen.contains(motor.nets[i]);
        if (motor.kind == DeviceKind::motor_2speed) {
            made.slow = fed[0] > 0;
            made.fast = fed[1] > 0;
        } else if (fed[0] + fed[1] == 1) {
            made.share = phase_share();
        }
        return made;
    }

    // Contactors that lead the same terminal to different lines.
    std::set<std::uint32_t> reversing(const MotorSeen &motor, const std::set<std::uint32_t> &contacts) {
        if (motor.kind != DeviceKind::motor_3ph && motor.kind != DeviceKind::motor_6lead)
            return {};
        std::map<std::uint32_t, std::map<std::uint32_t, std::set<std::uint32_t>>> feeds; // below -> above -> devices
        for (const std::uint32_t i : contacts) {
            const Switch &contact = circuit_.switches[i];
            if (!is_contactor(contact) || steps(contact.a) == steps(contact.b))
                continue;
            const bool a_below = steps(contact.a) > steps(contact.b);
            const std::uint32_t below = a_below ? contact.a : contact.b, above = a_below ? contact.b : contact.a;
            feeds[piece(below)][steps(above) == 0 ? above : piece(above)].insert(contact.device);
        }
        std::set<std::uint32_t> found;
        for (const auto &[below, lines] : feeds)
            if (lines.size() > 1)
                for (const auto &[line, devices] : lines)
                    found.insert(devices.begin(), devices.end());
        return found;
    }

    const Compiled &circuit_;
    const Lookup &lookup_;
    Ways ways_;
    std::vector<std::uint8_t> armature_;
    boost::disjoint_sets_with_storage<> wires_;
};

} // namespace

Circuit without_lengths(const Circuit &circuit) {
    Circuit plain = circuit;
    for (const Device &device : circuit.devices())
        if (device.kind == DeviceKind::cable && device.number("length_m").value_or(0) > 0)
            plain.set_parameter(device.designation, "length_m", 0.0);
    return plain;
}

Ways::Ways(const Compiled &circuit, const Lookup &lookup)
    : circuit_(circuit), lookup_(lookup), steps_(circuit.net_count, none) {
    std::vector<std::uint32_t> queue;
    for (const Source &source : circuit.sources)
        for (const Source::Pole &pole : source.poles)
            if (steps_[pole.net] != 0) {
                steps_[pole.net] = 0;
                queue.push_back(pole.net);
            }
    for (std::size_t k = 0; k < queue.size(); ++k)
        for (const std::uint32_t i : lookup.switches_at[queue[k]]) {
            const Switch &contact = circuit.switches[i];
            const std::uint32_t far = other_end(contact, queue[k]);
            if (contact.closed_at != 0 && steps_[far] == none) {
                steps_[far] = steps_[queue[k]] + 1;
                queue.push_back(far);
            }
        }
}

std::set<std::uint32_t> Ways::from(const std::vector<std::uint32_t> &nets, std::set<std::uint32_t> *poles) const {
    std::set<std::uint32_t> contacts, seen(nets.begin(), nets.end());
    std::vector<std::uint32_t> queue(seen.begin(), seen.end());
    for (std::size_t k = 0; k < queue.size(); ++k) {
        const std::uint32_t net = queue[k];
        if (steps_[net] == 0 && poles)
            poles->insert(net);
        if (steps_[net] == 0 || steps_[net] == none)
            continue;
        for (const std::uint32_t i : lookup_.switches_at[net]) {
            const std::uint32_t far = other_end(circuit_.switches[i], net);
            if (circuit_.switches[i].closed_at == 0 || steps_[far] > steps_[net] || far == net)
                continue;
            contacts.insert(i);
            if (seen.insert(far).second)
                queue.push_back(far);
        }
    }
    return contacts;
}

std::vector<MotorPath> motor_paths(const Compiled &circuit, const Lookup &lookup) {
    Paths paths(circuit, lookup);
    std::vector<MotorPath> found;
    for (std::uint32_t i = 0; i < circuit.motors.size(); ++i)
        found.push_back(paths.of(i));
    return found;
}

std::map<std::uint32_t, std::vector<Behind>> motors_behind(const Compiled &circuit,
                                                           const std::vector<MotorPath> &paths) {
    std::map<std::uint32_t, std::vector<Behind>> found;
    for (std::uint32_t p = 0; p < paths.size(); ++p)
        for (const Element &element : paths[p].elements) {
            auto &behind = found[circuit.switches[element.contact].device];
            if (behind.empty() || behind.back().path != p)
                behind.push_back({.path = p, .poles = 0});
            Behind &one = behind.back();
            one.share = std::max(one.share, element.share);
            ++one.poles;
            one.star_point |= element.star_point;
            one.slow |= element.slow;
            one.fast |= element.fast;
        }
    return found;
}

} // namespace stopspan::ratings
