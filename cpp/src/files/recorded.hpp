#pragma once

#include "files/xml_reader.hpp"
#include "files/xml_writer.hpp"

namespace stopspan {

/// The circuit recorded by hand: one element per device, named after its kind, parameters as attributes.
Circuit read_recorded(const XmlSource &source, pugi::xml_node circuit);
void write_recorded(const Description &known, pugi::xml_node parent, const Circuit &circuit);

/// Place of the first connection whose terminal the kind does not have, or that repeats a terminal: so that a message
/// can name its line. Everything else Circuit::add finds.
std::optional<std::size_t> first_bad_terminal(DeviceKind kind, std::span<const Connection> connections);

} // namespace stopspan
