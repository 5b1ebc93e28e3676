#include "checks/fault_place.hpp"

#include <algorithm>

namespace stopspan {
namespace {

/// What a wire comes off at a terminal: one contact, or all else that the device has there.
struct WireEnd {
    std::uint32_t variable, net, other_net; ///< of the whole circuit; or none
    std::string told;
};

// Contacts of one device may have any numbers: of theirs a terminal is told by where the contact leads and how it
// moves, else by its name.
std::optional<WireEnd> wire_end(const Fault &fault, const Context &context) {
    const Device &device = context.circuit.devices()[fault.device];
    const std::uint32_t net = device.net_of(fault.terminal)->value;
    std::optional<WireEnd> end;
    for (const std::uint32_t i : context.lookup.switches_at[net]) {
        const Switch &one = context.compiled.switches[i];
        const auto [a, b] = one.device == fault.device ? ends_at(device, one, fault.terminal) : std::pair{false, false};
        if (!a && !b)
            continue;
        if (end || one.a == one.b)
            return std::nullopt;
        end = {one.variable, net, a ? one.b : one.a, (one.pole ? "pole " : "contact ") + std::to_string(one.closed_at)};
    }
    if (!end && context.compiled.variable_of[fault.device] != none)
        end = {context.compiled.variable_of[fault.device], net, none, fault.terminal};
    return end;
}

} // namespace

std::optional<FaultPlace> place_of(const Fault &fault, const Context &context, const MachineSurroundings &around) {
    std::optional<WireEnd> at;
    if (only_parts(fault))
        at = wire_end(fault, context);
    else
        at = {fault.device == none ? none : context.compiled.variable_of[fault.device], fault.a, fault.b, {}};
    if (!at)
        return std::nullopt;
    FaultPlace place{fault.kind, around.number_of_variable(at->variable), around.number_of_net(at->net),
                     around.number_of_net(at->other_net), std::move(at->told)};
    for (const auto &[what, number] :
         {std::pair{at->variable, place.variable}, {at->net, place.a}, {at->other_net, place.b}})
        if (what != none && number == none)
            return std::nullopt;
    if (!only_parts(fault) && place.a > place.b)
        std::swap(place.a, place.b);
    return place;
}

} // namespace stopspan
