#pragma once

#include "stopspan/circuit.hpp"

#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace stopspan {

/// A relay with a contact in series behind each make contact of a start device: it comes in through a break contact of
/// the device, so only once that was let go, and then holds itself until its feed is lost or a lock opens.
struct StartRelay {
    std::string relay, start; ///< what it is called; the start device
    std::string like;         ///< what has such a coil
    std::string back;         ///< net that its coil returns to
    Contact broken;           ///< break contact added to the start device
    /// Make contacts of the start device, their second end towards what they start; the relay is fed from the first
    /// end of the first.
    std::vector<Contact> guarded;
    bool by_poles; ///< they carry what a motor draws, so it is a contactor and has its poles there
    /// Contacts added in series with the one it holds by; each opens when its device acts.
    std::vector<std::pair<std::string, Contact>> locks;
};

/// The smallest first. Empty where the device starts nothing by a coil, or no contact is left on it.
/// @param names  what nothing new may be called like
std::vector<StartRelay> start_relays(const Circuit &circuit, const Device &start, const Circuit &names);

/// @returns nothing where one of the devices has no contact to spare
std::optional<StartRelay> with_locks(const Circuit &circuit, StartRelay relay, const std::vector<std::string> &devices);

bool fits(const Circuit &circuit, const StartRelay &added);
/// @pre fits(circuit, added)
void apply(Circuit &circuit, const StartRelay &added);
/// @pre fits(before, added)
std::string text_of(const StartRelay &added, const Circuit &before);
/// Nets on which anything can become different. @pre fits(before, added)
std::vector<std::string> touched_nets(const StartRelay &added, const Circuit &before);

} // namespace stopspan
