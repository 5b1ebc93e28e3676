#pragma once

#include "stopspan/circuit.hpp"

#include <optional>
#include <string>
#include <vector>

namespace stopspan {

/// Name of the net that a terminal is wired to. @pre both are there
const std::string &net_at(const Circuit &circuit, const std::string &device, const std::string &terminal);

/// Takes a contact off a device and puts another on, which is done by adding the device anew: half a contact is never
/// there.
/// @param off, on  with empty names: none
void exchange_contact(Circuit &circuit, const std::string &owner, const Contact &off, const Contact &on,
                      const std::string &first, const std::string &second);

/// Contacts that the device must let conduct for what it switches to run: another's in series opens them as well.
std::vector<Contact> contacts_to_double(const Device &device);

/// Opens a way behind each of these contacts, for one of another device in series.
/// @returns what the same terminals of the other device are to be wired to
std::vector<Connection> in_series_behind(Circuit &circuit, const std::string &owner,
                                         const std::vector<Contact> &contacts);

/// "K1B", where nothing is called so yet.
std::string free_name(const Circuit &circuit, const std::string &like, char letter);

/// The first row of terminals nothing is wired to: 11-12, 21-22 ...; an overload has one break contact only.
std::optional<Contact> free_block(const Device &device, ContactSense sense);

} // namespace stopspan
