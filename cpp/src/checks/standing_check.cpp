#include "stopspan/standing_check.hpp"

#include "checks/splice.hpp"
#include "circuit/loose_nets.hpp"

#include <algorithm>
#include <array>
#include <mutex>

namespace stopspan {
namespace {

void change(Crossings &all, const Crossings &before, const Crossings &now) {
    all.joined_lines += now.joined_lines - before.joined_lines;
    all.long_wires += now.long_wires - before.long_wires;
    for (const auto &[pair, between] : before.between)
        all.between[pair].count -= between.count;
    for (const auto &[pair, between] : now.between) {
        Crossings::Between &known = all.between[pair];
        known.count += between.count;
        if (known.devices.empty())
            known.devices = between.devices;
    }
}

} // namespace

class StandingCheck::Implementation {
public:
    Implementation(Circuit circuit, CheckOptions options)
        : options_(std::move(options)), standing_(checked(std::move(circuit), options_)) {}

    Implementation(const Implementation &other) : options_(other.options_), standing_(other.in_order()) {}

    std::size_t decided() const { return standing_.decided; }
    const Circuit &circuit() const {
        const std::scoped_lock alone(guard_);
        return with_nets_in_order().circuit;
    }
    const Verdict &verdict() const {
        const std::scoped_lock alone(guard_);
        return with_findings_in_order().verdict;
    }

    template <class Change>
    Comparison change_all(const Change &make) {
        Circuit changed = circuit();
        make(changed);
        Standing now = checked(std::move(changed), options_);
        Comparison comparison = compare(verdict(), now.verdict);
        standing_ = std::move(now);
        nets_in_order_ = true;
        return comparison;
    }

    Comparison connect(const std::string &designation, const std::string &terminal, const std::string &net) {
        const auto make = [&](Circuit &circuit) { circuit.connect(designation, terminal, net); };
        const auto id = standing_.circuit.find(designation);
        if (!standing_.divisible || !id)
            return change_all(make);
        const Device &device = standing_.circuit.device(*id);
        const auto wired = std::find_if(device.terminals.begin(), device.terminals.end(),
                                        [&](const Device::Terminal &each) { return each.name == terminal; });
        if (wired == device.terminals.end() || is_source(device.kind))
            return change_all(make);
        const auto place = static_cast<std::uint32_t>(wired - device.terminals.begin());
        const std::string old_net = standing_.circuit.net_name(wired->net);
        if (old_net == net) {
            standing_.decided = 0;
            return {};
        }
        Influence &influence = *standing_.influence;
        Influence::Ends ends = influence.ends_of(standing_.circuit, id->value, place);
        // A contact of a stop from one net where groups end to another stands in none.
        if (ends.devices.empty() && influence.is_edge(ends.nets.back()) && influence.is_edge(net))
            return change_all(make);
        if (const auto known = influence.net(net))
            ends.nets.push_back(*known);
        const auto move = [&](const std::string &to) {
            LooseNets::connect(standing_.circuit, designation, terminal, to);
            nets_in_order_ = false;
            influence.moved(id->value, place, to);
            ends.nets.push_back(*influence.net(to));
        };
        if (auto changed = change_part(
                ends, [&] { move(net); }, [&] { move(old_net); }))
            return std::move(*changed);
        return change_all(make);
    }

    Comparison set_parameter(const std::string &designation, const std::string &parameter, const Parameter &value) {
        const auto make = [&](Circuit &circuit) { circuit.set_parameter(designation, parameter, value); };
        const auto id = standing_.circuit.find(designation);
        const bool about_more = std::find(of_the_whole.begin(), of_the_whole.end(), parameter) != of_the_whole.end();
        if (!standing_.divisible || !id || about_more || is_source(standing_.circuit.device(*id).kind))
            return change_all(make);
        const Device &device = standing_.circuit.device(*id);
        Influence::Ends ends = standing_.influence->ends_of(standing_.circuit, id->value);
        if (is_actuator(device.kind) && !add_those_asked(device, ends))
            return change_all(make);
        const Parameters old = device.parameters;
        if (auto changed = change_part(
                ends, [&] { make(standing_.circuit); }, [&] { standing_.circuit.set_parameters(designation, old); }))
            return std::move(*changed);
        return change_all(make);
    }

    Comparison add(const std::string &designation, DeviceKind kind, const std::vector<Connection> &connections,
                   const Parameters &parameters) {
        const auto make = [&](Circuit &circuit) { circuit.add(designation, kind, connections, parameters); };
        // Others are asked of something, or make a machine, a load or a source.
        constexpr std::array parts{DeviceKind::isolator,  DeviceKind::fuse,       DeviceKind::overload,
                                   DeviceKind::contactor, DeviceKind::relay,      DeviceKind::timer,
                                   DeviceKind::resistor,  DeviceKind::capacitor,  DeviceKind::cable,
                                   DeviceKind::link,      DeviceKind::stop_relay, DeviceKind::latched_contactor};
        if (!standing_.divisible || std::find(parts.begin(), parts.end(), kind) == parts.end())
            return change_all(make);
        Influence &influence = *standing_.influence;
        Influence::Ends ends;
        for (const Connection &each : connections)
            if (const auto known = influence.net(each.net))
                ends.nets.push_back(*known);
        if (auto changed = change_part(
                ends,
                [&] {
                    make(standing_.circuit);
                    const auto index = static_cast<std::uint32_t>(standing_.circuit.devices().size() - 1);
                    influence.added(standing_.circuit);
                    standing_.shares.add_device();
                    ends.devices.push_back(index);
                },
                [&] {
                    standing_.circuit.remove(designation);
                    standing_.shares.remove_last_device();
                    influence.removed_last();
                    ends.devices.clear();
                }))
            return std::move(*changed);
        return change_all(make);
    }

private:
    // Parameters that say who belongs to whom, or make something with positions more.
    static constexpr std::array<std::string_view, 7> of_the_whole{
        "role", "machine", "kept", "interlocked_with", "frequency_hz", "on_power_return", "channels"};

    // Machines and loads that a hand device is asked to cut or spare, or declared for, wherever its contacts are.
    // @returns false where that is all of them
    bool add_those_asked(const Device &device, Influence::Ends &ends) const {
        const auto add_named = [&](const std::string &name) {
            const auto motors = standing_.influence->motors_of(name);
            ends.devices.insert(ends.devices.end(), motors.begin(), motors.end());
            if (const auto load = standing_.circuit.find(name); load && standing_.known->load.contains(load->value))
                ends.devices.push_back(load->value);
        };
        add_named(std::string(machine_of(device)));
        if (!options_.asked)
            return role_of(device) != Role::stop;
        for (const AskedCell &cell : *options_.asked)
            if (cell.stop == device.designation)
                add_named(cell.machine);
        return true;
    }

    /// Makes a change and decides again what it can influence.
    /// @param ends  where it touches the circuit, before; afterwards, too, once it is made
    /// @returns nothing where everything must be decided again; all is then as before
    /// @throws what `make` throws, which then has changed nothing
    template <class Make, class TakeBack>
    std::optional<Comparison> change_part(const Influence::Ends &ends, const Make &make, const TakeBack &take_back) {
        const std::size_t most = standing_.circuit.devices().size() / 2;
        const auto group = standing_.influence->around(standing_.circuit, ends, most);
        if (!group)
            return std::nullopt;
        const std::size_t count = standing_.circuit.devices().size();
        const Crossings before = crossings_of(standing_, *group);
        make();
        try {
            const auto now = standing_.influence->around(standing_.circuit, ends, most);
            // Joined with more by the name of a new device, say.
            const bool all_there =
                now && now->devices.size() == group->devices.size() + standing_.circuit.devices().size() - count &&
                std::all_of(group->devices.begin(), group->devices.end(),
                            [&](std::uint32_t device) { return now->devices.contains(device); });
            std::optional<Again> again = all_there ? decide_again(standing_, options_, *now, before) : std::nullopt;
            if (again && within_bounds(*again)) {
                change(standing_.crossings, before, again->crossings);
                standing_.decided = static_cast<std::size_t>(
                    std::lower_bound(again->there.begin(), again->there.end(), standing_.first_device) -
                    again->there.begin());
                return splice(standing_, options_, *again);
            }
        } catch (...) {
            take_back();
            throw;
        }
        take_back();
        return std::nullopt;
    }

    // A check of the whole would have told all of it plainly.
    bool within_bounds(const Again &again) {
        PlainWork all = standing_.plain;
        for (std::size_t i = 0; i < again.here.size(); ++i) {
            const PlainWork &old = standing_.shares.plain[again.there[i]];
            all.positions -= old.positions;
            all.work -= old.work;
            all += again.shares.plain[again.here[i]];
        }
        if (!all.within_bounds())
            return false;
        standing_.plain = all;
        for (std::size_t i = 0; i < again.here.size(); ++i)
            standing_.shares.plain[again.there[i]] = again.shares.plain[again.here[i]];
        return true;
    }

    const Standing &in_order() const {
        const std::scoped_lock alone(guard_);
        with_nets_in_order();
        return with_findings_in_order();
    }

    // Both are put in order only for those who look at them.
    const Standing &with_nets_in_order() const {
        if (!nets_in_order_)
            LooseNets::put_in_order(standing_.circuit);
        nets_in_order_ = true;
        return standing_;
    }
    const Standing &with_findings_in_order() const {
        standing_.findings.put_in_order(standing_.verdict, standing_.shares);
        return standing_;
    }

    CheckOptions options_;
    mutable Standing standing_;
    mutable bool nets_in_order_ = true;
    mutable std::mutex guard_; ///< of the order
};

StandingCheck::StandingCheck(Circuit circuit, CheckOptions options)
    : self_(std::make_unique<Implementation>(std::move(circuit), std::move(options))) {}
StandingCheck::~StandingCheck() = default;
StandingCheck::StandingCheck(const StandingCheck &other) : self_(std::make_unique<Implementation>(*other.self_)) {}
StandingCheck &StandingCheck::operator=(const StandingCheck &other) {
    self_ = std::make_unique<Implementation>(*other.self_);
    return *this;
}
StandingCheck::StandingCheck(StandingCheck &&) noexcept = default;
StandingCheck &StandingCheck::operator=(StandingCheck &&) noexcept = default;

const Circuit &StandingCheck::circuit() const {
    return self_->circuit();
}

const Verdict &StandingCheck::verdict() const {
    return self_->verdict();
}

std::size_t StandingCheck::decided() const {
    return self_->decided();
}

Comparison StandingCheck::add(std::string_view designation, DeviceKind kind, std::span<const Connection> connections,
                              const Parameters &parameters) {
    return self_->add(std::string(designation), kind, {connections.begin(), connections.end()}, Parameters(parameters));
}

Comparison StandingCheck::connect(std::string_view designation, std::string_view terminal, std::string_view net) {
    // They may be parts of the circuit, which changes.
    return self_->connect(std::string(designation), std::string(terminal), std::string(net));
}

Comparison StandingCheck::set_parameter(std::string_view designation, std::string_view parameter, Parameter value) {
    return self_->set_parameter(std::string(designation), std::string(parameter), value);
}

Comparison StandingCheck::remove(std::string_view designation) {
    return self_->change_all([name = std::string(designation)](Circuit &circuit) { circuit.remove(name); });
}

} // namespace stopspan
