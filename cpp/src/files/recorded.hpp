#pragma once

#include "files/xml_reader.hpp"
#include "files/xml_writer.hpp"

namespace stopspan {

/// A circuit: one element per device, named after its kind, parameters as attributes.
Circuit read_circuit(const XmlSource &source, pugi::xml_node element);
/// Nothing for a circuit without devices.
void write_circuit(const Description &known, pugi::xml_node parent, const char *name, const Circuit &circuit);

/// Place of the first connection whose terminal the kind does not have, or that repeats a terminal: so that a message
/// can name its line. Everything else Circuit::add finds.
std::optional<std::size_t> first_bad_terminal(DeviceKind kind, std::span<const Connection> connections);

} // namespace stopspan
