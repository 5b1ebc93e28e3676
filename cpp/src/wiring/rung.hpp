#pragma once

#include "wiring/feed.hpp"
#include "wiring/plan.hpp"

namespace stopspan::wiring {

/// The circuit under construction and what its parts know of each other.
struct Site {
    const Description &description;
    const Plan &plan;
    Draft &draft;
    Feeds &feeds;
    class Zones *zones = nullptr;
};

/// One machine and where its power and its control come from.
struct Bench {
    Site &site;
    const Machine &machine;
    MachineId id;
    Names names;
    Feed power;          ///< behind its isolator and the zone contactors
    std::string control; ///< line that feeds its control circuit
    std::string control_back;
    std::vector<std::string> auxiliaries; ///< isolators and zone contactors that only its power stands behind
};

/// Kind and rated voltage of the coils of a control circuit.
struct CoilRating {
    double voltage_v = 230;
    bool direct_current = false;
};
Parameters coil(const CoilRating &rating);

/// A control circuit: its lines, and the coil voltage.
struct Rung {
    std::string line; ///< unearthed side, behind its fuse
    std::string back; ///< earthed side
    CoilRating rating;
};

/// Control supply and fuse of a machine from two nets of its feed.
Rung control_of(Bench &bench, const std::string &line, const std::string &back);
/// The machine's control circuit as its description wants it, behind the make contacts of its auxiliaries.
Rung control_of(Bench &bench);

/// A rung from `from` through the trip contacts of overloads, zone contacts, stop devices of the machine and its own
/// stop button. @return the net behind the last
std::string through_trips(Bench &bench, std::string from, const std::vector<std::string> &overloads);
std::string through_stops(Bench &bench, std::string from);
/// Only the stop devices that stand on the machine.
std::string through_stop_devices(Bench &bench, std::string from);
/// Whether series chains stand in the machine's own line, block by block, instead of feeding it by a rail.
bool has_own_line(const Machine &machine);

/// Start button between two nets, in parallel with the holding contact of a contactor or relay.
/// @return its designation
std::string start_button(Bench &bench, const std::string &from, const std::string &to, const std::string &holds,
                         double rating_a = 10);

/// A contactor or relay of the machine, its coil between two nets; poles come by connect().
std::string add_armature(Bench &bench, DeviceKind kind, const std::string &a1, const Rung &rung, Parameters more = {});
void poles(Draft &draft, const std::string &contactor, const std::vector<std::string> &in,
           const std::vector<std::string> &out);
/// An overload in the given lines; nets of its load side come out. @return its designation
std::string add_overload(Bench &bench, const std::vector<std::string> &in, std::vector<std::string> &out,
                         double current_a);
/// Nets "M1.U" ... of the machine.
std::vector<std::string> nets(Bench &bench, const std::vector<std::string> &suffixes);

/// Started by one of the one-phase starters.
bool one_phase(const Machine &machine);
Parameters motor_parameters(const Bench &bench, const Motor &motor);

/// Contacts of the machine's zones between `from` and the net it returns.
std::string through_zones(Bench &bench, std::string from);

// Starters, one family each.
void wire_in_line(Bench &bench);
void wire_one_phase(Bench &bench);
void wire_direct(Bench &bench);
void wire_change_over(Bench &bench); ///< reversing, two speeds
void wire_star_delta(Bench &bench);
void wire_drive(Bench &bench);

} // namespace stopspan::wiring
