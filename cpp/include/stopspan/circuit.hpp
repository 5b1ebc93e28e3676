#pragma once

#include "stopspan/id.hpp"

#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <unordered_map>
#include <utility>
#include <variant>
#include <vector>

namespace stopspan {

/// Every kind of device a circuit can hold; the text form ("push-button") is given by to_text().
enum class DeviceKind {
    mains_3ph,
    mains_1ph,
    dc_supply,
    transformer,
    isolator,
    fuse,
    overload,
    push_button,
    selector,
    key_switch,
    pedal,
    floor_bar,
    pull_wire,
    emergency_stop,
    guard_switch,
    contactor,
    relay,
    timer,
    latched_contactor,
    stop_relay,
    motor_1ph,
    motor_3ph,
    motor_6lead,
    motor_2speed,
    drive,
    lamp,
    load,
    resistor,
    capacitor,
    cable,
    insulation_monitor,
    link,
};

std::string_view to_text(DeviceKind kind);
/// @throws Error (bad_value) listing the known kinds
DeviceKind device_kind(std::string_view text);
std::span<const DeviceKind> all_device_kinds();

using Parameter = std::variant<double, bool, std::string>;
using Parameters = std::map<std::string, Parameter, std::less<>>;
/// As a wiring table has it: "230", "true", "start".
std::string to_text(const Parameter &parameter);

/// One parameter a device kind accepts.
struct ParameterRule {
    enum class Type { number, flag, word, text };
    std::string_view name; ///< carries its unit: "coil_voltage_v"
    Type type;
    double minimum = 0;          ///< numbers: smallest allowed value
    double maximum = 0;          ///< numbers: largest allowed value
    std::string_view words = {}; ///< words: allowed values, separated by blanks
    bool required = false;       ///< a device of this kind without it is refused
};
std::span<const ParameterRule> parameter_rules(DeviceKind kind);

/// A terminal of a device and the net it is wired to.
struct Connection {
    std::string terminal;
    std::string net;
    friend auto operator<=>(const Connection &, const Connection &) = default;
};

/// A device as wired. Terminals keep the order in which they were given.
struct Device {
    struct Terminal {
        std::string name;
        NetId net;
        friend bool operator==(const Terminal &, const Terminal &) = default;
    };
    std::string designation; ///< "K1"
    DeviceKind kind;
    std::vector<Terminal> terminals;
    Parameters parameters;

    std::optional<NetId> net_of(std::string_view terminal) const;
    std::optional<double> number(std::string_view parameter) const;
    std::optional<std::string_view> word(std::string_view parameter) const;
    bool flag(std::string_view parameter, bool otherwise) const;
    friend bool operator==(const Device &, const Device &) = default;
};

/// What a hand-operated device does when its hand is taken away.
enum class Action { momentary, latching, maintained, spring_return };
/// What a hand-operated device is for.
enum class Role { none, start, stop, reset, jog, test, select };

/// True for push-button ... guard-switch: kinds that carry contact blocks moved by a person or guard.
bool is_actuator(DeviceKind kind);
/// True for mains, DC supplies and transformers.
bool is_source(DeviceKind kind);
/// True for contactor, relay, timer, latched-contactor and stop-relay: kinds whose contacts a coil moves.
bool has_armature(DeviceKind kind);
/// Declared action or the usual one of the kind. @pre is_actuator(device.kind)
Action action_of(const Device &device);
/// Declared role or the usual one of the kind. @pre is_actuator(device.kind)
Role role_of(const Device &device);
/// momentary and spring-return devices: at rest unless held.
bool is_momentary(const Device &device);
/// Name of the machine a motor, drive or hand device belongs to; a motor without one is its own machine;
/// empty for devices that belong to none.
std::string_view machine_of(const Device &device);

/// Sense of a pair of contact terminals, from their numbers (EN 50005, EN 50011, EN 50012).
enum class ContactSense { pole, make, break_, delayed_make, delayed_break, trip_make, trip_break };
struct Contact {
    std::string first, second; ///< terminal names, "13", "14"
    ContactSense sense;
};
/// "K1:13-14"
std::string contact_text(const std::string &designation, const Contact &contact);
/// All contacts of a device, in the order of their first terminal.
std::vector<Contact> contacts_of(const Device &device);

/// Devices and the nets their terminals are wired to: what is wired, with no word of what is wanted.
/// A value: copies are deep, == compares content. Net "PE" is earth.
class Circuit {
public:
    /// Adds a device.
    /// @param designation  unique here, letters, digits, '.', '_', '-', '+', '=', '/'
    /// @throws Error: duplicate_name; bad_terminal (unknown terminal, half a contact, terminal twice);
    ///         bad_value (unknown parameter, not finite, out of range); missing_value (coil without
    ///         coil_voltage_v). The circuit is then unchanged.
    DeviceId add(std::string_view designation, DeviceKind kind, std::span<const Connection> connections,
                 const Parameters &parameters = {});
    /// Moves (or adds) one terminal to another net. @throws Error as add
    void connect(std::string_view designation, std::string_view terminal, std::string_view net);
    /// Sets one parameter. @throws Error as add
    void set_parameter(std::string_view designation, std::string_view parameter, Parameter value);
    /// Sets all of them at once: what is not among them is unknown then. @throws Error as add
    void set_parameters(std::string_view designation, Parameters values);
    void remove(std::string_view designation);

    std::span<const Device> devices() const noexcept { return devices_; } ///< order of adding
    const Device &device(DeviceId id) const { return devices_[id.value]; }
    std::optional<DeviceId> find(std::string_view designation) const;
    const Device &at(std::string_view designation) const;                ///< @throws Error (unknown_name)
    std::span<const std::string> nets() const noexcept { return nets_; } ///< order of first use
    const std::string &net_name(NetId id) const { return nets_[id.value]; }
    std::optional<NetId> find_net(std::string_view name) const;

    /// Names of all machines, in the order of their first motor or drive.
    std::vector<std::string> machines() const;
    /// Designations of all devices with role stop, in order.
    std::vector<std::string> stops() const;

    friend bool operator==(const Circuit &a, const Circuit &b);

private:
    friend class PartOfCircuit; // of cut_out()
    friend class LooseNets;

    /// A terminal: the first in this order that a net is used at numbers the nets.
    struct Spot {
        std::uint32_t device, terminal;
        friend auto operator<=>(const Spot &, const Spot &) = default;
    };
    NetId net(std::string_view name, Spot used_at);
    /// connect(), but for the order of nets. @returns whether that is still right
    bool move(std::string_view designation, std::string_view terminal, std::string_view net);
    void number_nets_again();
    std::vector<Device> devices_;
    std::vector<std::string> nets_;
    std::vector<Spot> first_use_; ///< per net
    std::unordered_map<std::string, std::uint32_t> device_index_, net_index_;
};

} // namespace stopspan
