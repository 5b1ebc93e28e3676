#include "base/number_text.hpp"
#include "lists/tables.hpp"

#include <algorithm>

namespace stopspan {
namespace {

std::string numbered_core(const Cable &cable, std::size_t core) {
    return cable.designation + ":" + std::to_string(core);
}

std::string size_of(const Listed &listed, const Cable &cable) {
    if (cable.recorded) {
        const auto size = listed.circuit.device(*cable.recorded).number("csa_mm2");
        return size ? format_number(*size) : "";
    }
    const auto text = [](std::optional<double> csa_mm2) { return csa_mm2 ? format_number(*csa_mm2) : ""; };
    if (cable.to == Locations::none)
        return "";
    const Location &to = listed.locations.all[cable.to];
    if (cable.power && to.encloses()) { // a feeder
        const Size *size = listed.size(to.name, "cable size to the machine");
        if (to.kind == Location::Kind::board)
            size = listed.size(to.name, "cable size to the board");
        else if (!size)
            size = listed.size(to.isolator, "cable size to the isolator");
        return size && size->value > 0 ? format_number(size->value) : "";
    }
    const Size *size = listed.size(to.name, "cable size"); // of a motor or a load
    if (cable.power && size)
        return size->value > 0 ? format_number(size->value) : "";
    std::optional<double> thickest = 0;
    for (const CableCore &core : cable.cores) {
        const auto csa_mm2 = listed.wire_sizes.of(cable.to, core.net, "B2");
        thickest = csa_mm2 && thickest ? std::optional(std::max(*thickest, *csa_mm2)) : std::nullopt;
    }
    return text(thickest);
}

} // namespace

List wire_list(const Listed &listed) {
    List list{
        "wires",
        "Wires",
        "Colours: IEC 60204-1, 13.2; orange stays live with the isolator of its enclosure open. Cores of cables "
        "are numbered. Sizes: by the current each carries, IEC 60204-1 table 6, wires in ducts (B1) at 40 degC, at "
        "least 1.5; control 1, which a fuse of 10 A protects (table 5 asks for 0.2). Not sized: current unknown.",
        {"wire_number", "from", "to", "where", "use", "colour", "size_mm2"},
        {}};
    for (const Wire &wire : listed.cabling.wires) {
        const ConductorUse use = listed.uses[wire.net.value];
        const bool excepted = std::ranges::binary_search(listed.excepted[wire.location], wire.net);
        const auto csa_mm2 = listed.wire_sizes.of(wire.location, wire.net, "B1");
        list.rows.push_back({listed.circuit.net_name(wire.net), wire.from, wire.to, listed.name_of(wire.location),
                             std::string(to_text(use)), std::string(colour_of(use, excepted)),
                             csa_mm2 ? format_number(*csa_mm2) : ""});
    }
    for (const Cable &cable : listed.cabling.cables)
        for (std::size_t i = 0; i < cable.cores.size(); ++i) {
            const CableCore &core = cable.cores[i];
            list.rows.push_back({listed.circuit.net_name(core.net), core.from, core.to, numbered_core(cable, i + 1),
                                 std::string(to_text(listed.uses[core.net.value])), "", size_of(listed, cable)});
        }
    return list;
}

List terminal_list(const Listed &listed) {
    List list{"terminals",
              "Terminal plan",
              "Each core of a cable has a terminal of its own; those of one wire number are bridged.",
              {"terminal", "wire_number", "inside", "bridged_to", "cable", "core", "outside", "outside_at"},
              {}};
    for (const StripTerminal &terminal : listed.cabling.terminals) {
        const Cable &cable = listed.cabling.cables[terminal.cable];
        const CableCore &core = cable.cores[terminal.core - 1];
        const bool outward = cable.from == terminal.enclosure;
        list.rows.push_back({terminal.name, listed.circuit.net_name(terminal.net),
                             terminal.bridged ? "" : terminal.inside, terminal.bridged ? terminal.inside : "",
                             cable.designation, std::to_string(terminal.core), outward ? core.to : core.from,
                             listed.name_of(outward ? cable.to : cable.from)});
    }
    return list;
}

List cable_list(const Listed &listed) {
    List list{
        "cables",
        "Cable plan",
        "Lengths: along the axes of the plan and 2 m at either end (assumed); measure before cutting. None "
        "where an end has no place, or the two are on different floors. A protective conductor lies beside the "
        "cores. Sizes of control cables: 1, for single wires outside as for cables (IEC 60204-1 table 5 asks for no "
        "more, from memory).",
        {"cable", "from", "to", "use", "cores", "size_mm2", "length_m", "wire_numbers"},
        {}};
    for (const Cable &cable : listed.cabling.cables) {
        std::optional<double> length;
        if (cable.recorded)
            length = listed.circuit.device(*cable.recorded).number("length_m");
        else
            length = cable_way_m(listed.locations.all[cable.from], listed.locations.all[cable.to]);
        std::string nets;
        for (const CableCore &core : cable.cores)
            nets += (nets.empty() ? "" : ", ") + listed.circuit.net_name(core.net);
        list.rows.push_back({cable.designation, listed.name_of(cable.from), listed.name_of(cable.to),
                             cable.power ? "power" : "control", std::to_string(cable.cores.size()),
                             size_of(listed, cable), length ? format_fixed(*length, 1) : "", nets});
    }
    return list;
}

} // namespace stopspan
