#pragma once

#include "stopspan/wiring.hpp"

#include <map>
#include <set>
#include <string>
#include <string_view>
#include <unordered_map>
#include <unordered_set>
#include <vector>

namespace stopspan::wiring {

/// A circuit in the making. Devices stay open for more contacts until build(), because a stop device or a zone relay
/// gets its contact blocks one by one from whatever needs it.
class Draft {
public:
    explicit Draft(const Circuit &recorded);

    /// Designations that others will bring: no generated device takes them.
    void reserve(std::string_view designation) { taken_.emplace(designation); }

    /// @param owner  for the message, "machine Drill"; it stands there, too, unless stands() says otherwise
    /// @throws Error (duplicate_name) if it was recorded by hand
    void add(const std::string &owner, const std::string &designation, DeviceKind kind,
             std::vector<Connection> connections, Parameters parameters = {});
    void stands(std::string_view designation, std::string place) { device(designation).place = std::move(place); }
    /// Recorded devices that say they belong to a machine stand there. @param places  by name of the machine
    void stand_recorded(const std::unordered_map<std::string, std::string> &places);
    bool has(std::string_view designation) const { return index_.contains(std::string(designation)); }
    bool is_recorded(std::string_view designation) const;
    /// Whether a motor or drive says that it belongs to this machine.
    bool has_motor_of(std::string_view machine) const;
    DeviceKind kind_of(std::string_view designation) const { return device(designation).kind; }
    /// Sets a parameter that the device does not have yet; one recorded by hand stays.
    void set_missing(std::string_view designation, std::string_view parameter, Parameter value);
    /// Net of a recorded terminal; empty when it is not wired.
    std::string net_of(std::string_view designation, std::string_view terminal) const;

    /// Wires the device's next free contact between two nets. Rows count up, 11-12 or 13-14, 21-22 or 23-24, ...
    /// @throws Error (bad_terminal) past row 99
    void contact(std::string_view designation, ContactSense sense, const std::string &from, const std::string &to);
    /// Wires one of the numbered contacts of a kind ("15", "16").
    void connect(std::string_view designation, std::string_view terminal, const std::string &net);
    /// Break contacts, or make contacts, wired so far.
    std::size_t contacts(std::string_view designation, ContactSense sense) const;

    /// A designation nothing else has: `wanted`, or it with "_2", "_3" ...
    std::string free_designation(const std::string &wanted);
    /// A net nothing else has, recorded circuits included: these join generated nets only where that is documented.
    std::string free_net(const std::string &wanted);
    /// Whether the recorded circuit names this net.
    bool recorded_net(std::string_view net) const { return recorded_nets_.contains(std::string(net)); }
    /// Another documented name of a net, which recorded circuits may use.
    void alias(const std::string &name, const std::string &net);

    /// The circuit, and where each device stands; empty of what is recorded and not said. An isolator gets a pole for
    /// the neutral only where something behind it uses the neutral.
    Wired build() const;

private:
    struct Entry {
        std::string designation;
        DeviceKind kind;
        std::vector<Connection> connections;
        Parameters parameters;
        bool recorded = false;
        std::set<int> rows; ///< contact rows in use
        std::string place;
    };
    const Entry &device(std::string_view designation) const;
    Entry &device(std::string_view designation);
    std::vector<Entry> without_idle_neutrals() const;
    const std::string &joined(const std::string &net) const;

    std::vector<Entry> devices_;
    std::unordered_map<std::string, std::size_t> index_;
    std::unordered_set<std::string> taken_, nets_, recorded_nets_;
    std::map<std::string, std::string> aliases_;
};

} // namespace stopspan::wiring
