#pragma once

#include "stopspan/circuit.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstdint>
#include <limits>
#include <memory>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

namespace stopspan {

/// A voltage: its 50 Hz phasor and its direct part, solved apart and joined as root of the sum of squares.
struct Volts {
    std::complex<double> ac{};
    double dc = 0;
    friend Volts operator+(Volts a, Volts b) { return {a.ac + b.ac, a.dc + b.dc}; }
    friend Volts operator-(Volts a, Volts b) { return {a.ac - b.ac, a.dc - b.dc}; }
    friend Volts operator*(double f, Volts a) { return {f * a.ac, f * a.dc}; }
    double rms() const { return std::sqrt(std::norm(ac) + dc * dc); }
    bool same(Volts other) const { return (*this - other).rms() < 1e-6; }
};

inline constexpr std::uint32_t none = std::numeric_limits<std::uint32_t>::max();

/// One thing of a circuit that has positions. A state is one byte per variable.
struct Variable {
    enum class Kind : std::uint8_t {
        actuator, ///< 0 at rest, 1 actuated, 2 dwelling with every block open
        isolator, ///< 0 closed, 1 open, 2 auxiliary make contact open, poles still closed
        overload, ///< 0, 1 tripped
        fuse,     ///< 0, 1 blown
        source,   ///< bit i: pole i lost
        armature, ///< 0 out, 1 in
        timed,    ///< delayed contacts of a timer: 0 at rest, 1 acted
        memory,   ///< drive: run input seen open; stop relay: reset loop seen open
        fault,    ///< 0 whole, 1 faulty
    };
    Kind kind;
    std::uint32_t device; ///< index in Circuit::devices(); none for a fault between nets
};
using State = std::basic_string<std::uint8_t>; ///< small ones need no allocation
struct StateHash {
    std::size_t operator()(const State &state) const noexcept {
        return std::hash<std::string_view>()({reinterpret_cast<const char *>(state.data()), state.size()});
    }
};

/// An ideal contact: closed while bit state[variable] of `closed_at` is set.
struct Switch {
    std::uint32_t a, b;
    std::uint32_t variable; ///< none: always closed (link, overload pole, ideal core)
    std::uint8_t closed_at;
    bool pole = false; ///< power pole (contactor, isolator, overload)
    std::uint32_t device;
    std::uint32_t terminal = 0; ///< of a contact: which terminal of the device is its first
    bool closed(const State &state) const { return variable == none || (closed_at >> state[variable] & 1); }
};

/// Admittance between two nets. Coils have two: armature out and in.
struct Impedance {
    std::uint32_t a, b;
    std::complex<double> ac_out, ac_in; ///< 1/ohm at the source's frequency
    double dc = 0;                      ///< 1/ohm
    std::uint32_t armature = none;      ///< coil of this armature: admittance follows its position
    bool unknown_coil = false;          ///< hold power not declared
    std::uint32_t device;
};

/// Something that moves by itself when its coil asks.
struct Armature {
    enum class Kind : std::uint8_t { coil, latched, stop_relay, monitor, welded };
    Kind kind = Kind::coil;
    std::uint32_t device = none;
    std::uint32_t variable = none; ///< 0 out, 1 in
    std::uint32_t timed = none;    ///< timer: variable of its delayed contacts
    bool off_delay = false;
    bool dc_coil = false; ///< drops for certain below 0.10 instead of 0.20
    double rated_v = 0;
    std::uint32_t a1 = none, a2 = none;     ///< coil nets (closing coil of a latched one; L and PE of a monitor)
    std::uint32_t e1 = none, e2 = none;     ///< tripping coil
    std::vector<std::uint32_t> interlocked; ///< indices of the armatures it can never be in together with
    bool unknown_coil = false;
    std::uint32_t memory = none;                                 ///< stop relay
    bool automatic = true;                                       ///< stop relay
    std::vector<std::pair<std::uint32_t, std::uint32_t>> inputs; ///< stop relay: loops that must be closed
    bool input_missing = false;                                  ///< stop relay: a channel it has is not wired
    /// Stop relay with two channels, per input: variable, 1 while what that channel holds inside is in. Let go by the
    /// other channel alone the relay stays out until this one has opened, too.
    std::vector<std::uint32_t> channels_in;
    std::pair<std::uint32_t, std::uint32_t> reset{none, none}, feedback{none, none};
    bool excludes(std::uint32_t other) const {
        return std::find(interlocked.begin(), interlocked.end(), other) != interlocked.end();
    }
};

struct Source {
    std::uint32_t device;
    std::uint32_t variable;
    struct Pole {
        std::uint32_t net;
        Volts volts;      ///< relative to the earthed pole, or to the last pole when floating
        std::string name; ///< "L1"
    };
    std::vector<Pole> poles;
    std::uint32_t earthed = none; ///< index into poles
    enum class Feed : std::uint8_t { own, ac_to_dc, transformer } feed = Feed::own;
    std::uint32_t feed_a = none, feed_b = none;
    double primary_v = 0;           ///< transformer
    std::uint32_t feed_part = none; ///< impedance between feed_a and feed_b
    double short_circuit_a = 0;     ///< 0: not limited
};

struct MotorSeen {
    DeviceKind kind;
    std::uint32_t device;
    std::uint32_t machine; ///< index into Compiled::machines
    double rated_v;
    std::vector<std::uint32_t> nets; ///< terminals in the order of the kind
    struct Winding {
        std::uint32_t a, b;
        double rated_v;
    };
    std::vector<Winding> windings;
    bool slow_joined = true;     ///< two-speed
    bool waits = false;          ///< drive
    std::uint32_t memory = none; ///< drive that waits
    std::pair<std::uint32_t, std::uint32_t> run{none, none}, torque_off{none, none};
};

struct LoadSeen {
    std::uint32_t device;
    std::uint32_t a, b;
    double rated_v;
    bool kept;
};

struct FuseSeen {
    std::uint32_t variable;
    double rating_a;
};

/// A fault that may happen, for good.
struct FaultSeen {
    std::uint32_t variable;
    std::uint32_t frozen = none; ///< variable that then stays acted: of a welded contactor, of a jammed start button
    bool comes_and_goes = false; ///< and not once and for good
    std::uint32_t after = none;  ///< fault that must have happened before, by its variable
};

/// Names by index, shared by a circuit and all parts cut out of it.
class Names {
public:
    Names() = default;
    explicit Names(std::vector<std::string> names)
        : names_(std::make_shared<const std::vector<std::string>>(std::move(names))) {}
    const std::string &operator[](std::size_t index) const { return (*names_)[index]; }
    std::size_t size() const { return names_->size(); }
    auto begin() const { return names_->begin(); }
    auto end() const { return names_->end(); }

private:
    std::shared_ptr<const std::vector<std::string>> names_ = std::make_shared<const std::vector<std::string>>();
};

/// A circuit prepared for analysis: indices instead of names. Net i < named_nets is Circuit net i; then come
/// earth (if no net is named PE) and the star points of motors.
struct Compiled {
    std::uint32_t net_count = 0;
    std::uint32_t earth = none;
    std::vector<std::string> net_names;
    Names device_names; ///< per device of the circuit
    std::vector<Variable> variables;
    std::vector<Switch> switches;
    std::vector<Impedance> impedances;
    std::vector<Armature> armatures;
    std::vector<Source> sources;
    std::vector<MotorSeen> motors;
    std::vector<LoadSeen> loads;
    Names machines;
    std::vector<std::uint32_t> variable_of;                ///< per device: its main variable, or none; not in cones
    std::vector<double> fuse_rating_a;                     ///< per variable; 0: not a fuse
    std::vector<std::vector<std::uint32_t>> unknown_links; ///< cones only: nets that something outside may join
    std::vector<FaultSeen> faults;                         ///< cones only: what may break
    bool cut_out = false;                                  ///< of a circuit that was cut out of a larger one

    State cold() const { return State(variables.size(), 0); }
    /// A fault that happened keeps this variable from moving.
    bool frozen(std::uint32_t variable, const State &state) const {
        for (const FaultSeen &fault : faults)
            if (fault.frozen == variable && state[fault.variable] != 0)
                return true;
        return false;
    }
};

/// What a part that was cut out of a circuit owes to the whole.
struct CutOutOf {
    double frequency_hz;     ///< of its sources
    bool every_cell = false; ///< its matrix has every stop with every machine and load
    std::size_t variables = 0;
    std::unordered_map<std::string, std::size_t> contacts_of_stops{}; ///< how many each has
};
/// Of its sources: one for all, since mains that differ are not in step anyway, and only capacitors ask for it.
double frequency_hz(const Circuit &circuit);

/// @param whole  what the circuit was cut out of, or null
Compiled compile(const Circuit &circuit, const CutOutOf *whole = nullptr);

} // namespace stopspan
