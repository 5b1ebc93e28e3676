#include "checks/repair_change.hpp"

#include <algorithm>
#include <array>
#include <limits>
#include <map>

namespace stopspan {
namespace {

constexpr std::size_t most_ends = 40;    // ends of wires that are suspected
constexpr std::size_t most_targets = 12; // nets each of them is tried on
constexpr std::size_t most_places = 24;  // places for a contact

using Net = std::uint32_t;
constexpr std::uint32_t far = std::numeric_limits<std::uint32_t>::max();

struct End {
    const Device *device;
    std::string terminal;
    Net net;
};

bool has_coil(const Device &device) {
    return device.net_of("A1").has_value();
}

bool two_terminals(DeviceKind kind) {
    return kind == DeviceKind::lamp || kind == DeviceKind::load || kind == DeviceKind::resistor ||
           kind == DeviceKind::capacitor;
}

/// Which nets of a circuit are neighbours, through what.
class Surroundings {
public:
    enum : unsigned { control = 1, power = 2, loads = 4 };

    explicit Surroundings(const Circuit &circuit)
        : edges_(circuit.nets().size()), source_(circuit.nets().size(), 0), pole_(circuit.nets().size(), 0),
          motor_(circuit.nets().size(), 0) {
        ends_.resize(edges_.size());
        for (const Device &device : circuit.devices()) {
            for (const Device::Terminal &terminal : device.terminals)
                ++ends_[terminal.net.value];
            for (const Contact &contact : contacts_of(device)) {
                const bool is_pole = contact.sense == ContactSense::pole;
                join(device, contact.first, contact.second, is_pole ? power : control);
                if (is_pole)
                    pole_[net(device, contact.first)] = pole_[net(device, contact.second)] = 1;
            }
            if (device.kind == DeviceKind::fuse)
                join(device, "1", "2", power);
            if (device.kind == DeviceKind::link)
                join(device, "1", "2", power | control);
            if (two_terminals(device.kind))
                join(device, "1", "2", loads);
            for (const auto &[a, b] : std::array<std::pair<const char *, const char *>, 5>{
                     {{"A1", "A2"}, {"C1", "C2"}, {"E1", "E2"}, {"RUN1", "RUN2"}, {"STO1", "STO2"}}})
                join(device, a, b, loads);
            if (is_motor(device.kind))
                for (const Device::Terminal &terminal : device.terminals)
                    motor_[terminal.net.value] = 1;
            for (const char *terminal : {"L1", "L2", "L3", "N", "L", "P", "M", "s1", "s2"})
                if (feeds(device.kind) && device.net_of(terminal))
                    source_[net(device, terminal)] = 1;
        }
        for (const Device &device : circuit.devices()) // what an overload stands ahead of
            if (device.kind == DeviceKind::overload)
                for (const Contact &contact : contacts_of(device))
                    if (contact.sense == ContactSense::pole)
                        motor_[net(device, contact.first)] |= motor_[net(device, contact.second)];
    }

    /// A motor hangs there with no contactor between.
    bool at_motor(Net net) const { return motor_[net] != 0; }
    /// Terminals on it.
    std::size_t ends(Net net) const { return ends_[net]; }
    bool source(Net net) const { return source_[net] != 0; }
    /// A source or a power pole ends there: what stands on it is fed from the power circuit.
    bool in_power(Net net) const { return source_[net] || pole_[net]; }

    /// Steps to each net, not on through a source pole unless said; `far` for those that are not reached.
    std::vector<std::uint32_t> distances(const std::vector<Net> &from, unsigned through,
                                         bool past_sources = false) const {
        std::vector<std::uint32_t> steps(edges_.size(), far);
        std::vector<Net> queue;
        for (const Net start : from)
            if (steps[start] == far) {
                steps[start] = 0;
                queue.push_back(start);
            }
        for (std::size_t k = 0; k < queue.size(); ++k) {
            if (steps[queue[k]] > 0 && source_[queue[k]] && !past_sources)
                continue;
            for (const auto &[next, kind] : edges_[queue[k]])
                if ((kind & through) && steps[next] == far) {
                    steps[next] = steps[queue[k]] + 1;
                    queue.push_back(next);
                }
        }
        return steps;
    }

private:
    static bool is_motor(DeviceKind kind) {
        return kind == DeviceKind::motor_1ph || kind == DeviceKind::motor_3ph || kind == DeviceKind::motor_6lead ||
               kind == DeviceKind::motor_2speed;
    }
    static bool feeds(DeviceKind kind) {
        return kind == DeviceKind::mains_3ph || kind == DeviceKind::mains_1ph || kind == DeviceKind::dc_supply ||
               kind == DeviceKind::transformer;
    }
    static Net net(const Device &device, std::string_view terminal) { return device.net_of(terminal)->value; }
    void join(const Device &device, std::string_view a, std::string_view b, unsigned kind) {
        if (!device.net_of(a) || !device.net_of(b))
            return;
        edges_[net(device, a)].emplace_back(net(device, b), kind);
        edges_[net(device, b)].emplace_back(net(device, a), kind);
    }

    std::vector<std::vector<std::pair<Net, unsigned>>> edges_;
    std::vector<std::uint8_t> source_, pole_, motor_;
    std::vector<std::size_t> ends_;
};

class Search {
public:
    Search(const Circuit &part, const Finding &finding, const std::vector<std::string> &helpers)
        : part_(part), finding_(finding), helpers_(helpers), around_(part) {}

    std::vector<Change> run() {
        read_path();
        remove_links();
        add_wires();
        move_wires();
        place_contacts();
        return std::move(changes_);
    }

private:
    // "L1 F2 a K1:13-14 e ... coil of K1": the contacts, the coil, and where near starts.
    void read_path() {
        static constexpr std::string_view coil_of = "coil of ";
        const auto &path = finding_.witness.path;
        for (std::size_t i = 0; i < path.size(); ++i) {
            const std::string &step = path[i];
            if (step.starts_with(coil_of)) {
                if (const auto id = part_.find(step.substr(coil_of.size())))
                    coils_.push_back(&part_.device(*id));
            } else if (const auto id = part_.find(step.substr(0, step.find(':'))); id && i % 2 == 1) {
                on_path_.push_back({&part_.device(*id), step});
            } else if (const auto net = part_.find_net(step)) {
                near_.push_back(net->value);
            }
        }
        for (const std::string &subject : finding_.subjects)
            if (const auto id = part_.find(subject)) {
                const Device &device = part_.device(*id);
                subjects_.push_back(&device);
                if (has_coil(device))
                    coils_.push_back(&device);
                for (const Device::Terminal &terminal : device.terminals)
                    if (around_.source(terminal.net.value))
                        add_feed_of(terminal.net);
                    else
                        near_.push_back(terminal.net.value);
            }
        // With no path to go by, every contactor that switches power is as near as any other.
        if (coils_.empty())
            for (const Device &device : part_.devices())
                if (has_coil(device) && device.net_of("1"))
                    coils_.push_back(&device);
        for (const Device *coil : coils_)
            near_.push_back(coil->net_of("A1")->value);
        nearness_ = around_.distances(near_, Surroundings::control | Surroundings::power | Surroundings::loads);
    }

    // What feeds the transformer or DC supply that a load hangs on.
    void add_feed_of(NetId pole) {
        for (const Device &supply : part_.devices())
            for (const auto &[feed, output] : {std::pair{"ac1", "P"}, {"ac1", "M"}, {"p1", "s1"}, {"p1", "s2"}})
                if (supply.net_of(feed) && supply.net_of(output) == pole)
                    near_.push_back(supply.net_of(feed)->value);
    }

    // ---- wires

    // A contact that holds a coil past what should open it is the usual culprit, then what else is on the path.
    std::uint32_t suspicion(const Device &device) const {
        const bool path =
            std::any_of(on_path_.begin(), on_path_.end(), [&](const auto &step) { return step.first == &device; });
        if (path)
            return has_coil(device) ? 0 : 1;
        return std::find(subjects_.begin(), subjects_.end(), &device) != subjects_.end() ? 2 : 3;
    }

    static bool control_end(const Device &device, const std::string &terminal) {
        if (terminal == "A1")
            return true;
        for (const Contact &contact : contacts_of(device))
            if (contact.first == terminal || contact.second == terminal)
                return contact.sense != ContactSense::pole;
        return device.kind == DeviceKind::link;
    }

    // The end of a fuse, load, transformer or DC supply at which it is fed from the power circuit.
    bool feed_end(const Device &device, const std::string &terminal, Net net) const {
        if (terminal == "ac1" || terminal == "p1")
            return around_.in_power(net);
        if ((device.kind != DeviceKind::fuse && device.kind != DeviceKind::load) || !around_.in_power(net))
            return false;
        const Net other = device.net_of(terminal == "1" ? "2" : "1")->value;
        return device.kind == DeviceKind::load || !around_.in_power(other);
    }

    bool beside(const Device &device, const std::string &terminal, Net to) const {
        // Both sides of a contact on one net: that is taking it away, not mending it.
        bool any = false;
        for (const Contact &contact : contacts_of(device)) {
            any = true;
            if ((contact.first == terminal && device.net_of(contact.second)->value == to) ||
                (contact.second == terminal && device.net_of(contact.first)->value == to))
                return true;
        }
        return (!any || terminal == "A1") &&
               std::any_of(device.terminals.begin(), device.terminals.end(), [&](const Device::Terminal &other) {
                   return other.name != terminal && (!any || other.name == "A2") && other.net.value == to;
               });
    }

    // A contact or coil stays behind its fuse, a feed on its phase; a lamp without return gets one.
    std::vector<Net> targets(const End &end) const {
        const bool feed = feed_end(*end.device, end.terminal, end.net);
        const auto steps = around_.distances({end.net}, feed ? Surroundings::power : Surroundings::control, feed);
        std::vector<std::pair<std::uint32_t, Net>> order;
        for (Net net = 0; net < steps.size(); ++net) {
            const bool fits =
                feed ? around_.in_power(net) && (around_.source(net) || !around_.at_motor(net)) : !around_.source(net);
            if (fits && steps[net] != far && net != end.net && !beside(*end.device, end.terminal, net))
                order.emplace_back(steps[net], net);
        }
        // Where one wire end hangs alone, another is missing.
        if (!feed)
            for (Net net = 0; net < steps.size(); ++net)
                if (around_.ends(net) == 1 && net != end.net && !around_.in_power(net) &&
                    !beside(*end.device, end.terminal, net))
                    order.emplace_back(0, net);
        std::sort(order.begin(), order.end());
        order.erase(std::unique(order.begin(), order.end()), order.end());
        order.resize(std::min(order.size(), most_targets));
        std::vector<Net> nets;
        for (const auto &[distance, net] : order)
            nets.push_back(net);
        return nets;
    }

    bool fed_by_nothing(Net net) const {
        const auto steps = around_.distances({net}, Surroundings::control | Surroundings::power);
        for (Net other = 0; other < steps.size(); ++other)
            if (steps[other] != far && around_.source(other))
                return false;
        return true;
    }

    void move_wires() {
        std::vector<std::pair<std::array<std::uint32_t, 3>, End>> ends;
        for (const Device &device : part_.devices())
            for (const Device::Terminal &terminal : device.terminals) {
                const Net net = terminal.net.value;
                if (nearness_[net] != far && !leaves_idle(device, net) &&
                    (control_end(device, terminal.name) || feed_end(device, terminal.name, net)))
                    ends.push_back(
                        {{terminal.name == "A1", suspicion(device), nearness_[net]}, {&device, terminal.name, net}});
            }
        std::stable_sort(ends.begin(), ends.end(), [](const auto &a, const auto &b) { return a.first < b.first; });
        ends.resize(std::min(ends.size(), most_ends), {{}, {nullptr, {}, 0}});
        for (const auto &[rank, end] : ends)
            for (const Net to : targets(end))
                wire(Change::Kind::wire_moved, *end.device, end.terminal, to);
    }

    // The one other contact on that net would be left without a purpose, a feedback or interlock maybe.
    bool leaves_idle(const Device &device, Net net) const {
        const Device *other = nullptr;
        std::size_t ends = 0;
        for (const Device &each : part_.devices())
            for (const Device::Terminal &terminal : each.terminals)
                if (terminal.net.value == net && (&each != &device || ++ends > 1))
                    other = other ? &device : &each;
        const bool only_subject = subjects_.size() == 1 && other == subjects_[0]; // what it does is the mistake
        return other && other != &device && !only_subject && !contacts_of(*other).empty() && !around_.in_power(net);
    }

    // A lamp or load whose return is missing finds current through other coils.
    void add_wires() {
        std::vector<Net> tried;
        for (const Device &device : part_.devices())
            for (const Device::Terminal &terminal : device.terminals) {
                const Net net = terminal.net.value;
                if (!two_terminals(device.kind) || nearness_[net] == far || !fed_by_nothing(net) ||
                    std::find(tried.begin(), tried.end(), net) != tried.end())
                    continue;
                tried.push_back(net);
                std::vector<Net> returns;
                for (const Device &coil : part_.devices())
                    if (const auto back = coil.net_of("A2"))
                        if (std::find(returns.begin(), returns.end(), back->value) == returns.end() &&
                            returns.size() < most_targets)
                            returns.push_back(back->value);
                for (const Net to : returns)
                    wire(Change::Kind::wire_added, device, terminal.name, to);
            }
    }

    // A link that does not belong there joins what should be apart.
    void remove_links() {
        std::vector<std::pair<std::uint32_t, const Device *>> links;
        for (const Device &device : part_.devices())
            if (device.kind == DeviceKind::link && nearness_[device.terminals[0].net.value] != far)
                links.emplace_back(nearness_[device.terminals[0].net.value], &device);
        std::stable_sort(links.begin(), links.end(), [](const auto &a, const auto &b) { return a.first < b.first; });
        links.resize(std::min(links.size(), most_targets));
        for (const auto &[steps, link] : links)
            changes_.push_back({.kind = Change::Kind::link_removed,
                                .device = link->designation,
                                .terminal = link->terminals[0].name,
                                .net = {},
                                .owner = {},
                                .block = {}});
    }

    void wire(Change::Kind kind, const Device &device, const std::string &terminal, Net to) {
        changes_.push_back({.kind = kind,
                            .device = device.designation,
                            .terminal = terminal,
                            .net = part_.nets()[to],
                            .owner = {},
                            .block = {}});
    }

    // ---- contacts

    void place_contacts() {
        const std::string &rule = finding_.rule;
        std::vector<End> along = places();
        for (const Device *device : subjects_) {
            const bool acts = is_actuator(device->kind) || device->kind == DeviceKind::overload;
            if (acts && (rule == "stop-cuts" || rule == "stop-beats-start" || rule == "release-return" ||
                         rule == "overload-cuts")) {
                for (const Contact &contact : contacts_of(*device))
                    if (contact.sense == ContactSense::break_ || contact.sense == ContactSense::trip_break)
                        put(*device, contact, along, Change::Kind::contact_moved);
                add(*device, ContactSense::break_, along);
            }
            if (device->kind == DeviceKind::isolator && (rule == "isolator-clears" || rule == "trip-return"))
                add(*device, ContactSense::make, along);
            // Contactors that must not be in together, or race: each may lock out the others.
            if (has_coil(*device) && (rule == "interlock-holds" || rule == "contact-race" || rule == "chatter"))
                for (const Device *other : subjects_)
                    if (has_coil(*other) && other != device)
                        add(*device, ContactSense::break_, {coil_end(*other)});
        }
        // What the stop lets fall already can take this with it.
        if (rule == "stop-cuts")
            for (const std::string &helper : helpers_)
                if (const auto id = part_.find(helper))
                    add(part_.device(*id), ContactSense::make, along);
    }

    static End coil_end(const Device &device) { return {&device, "A1", device.net_of("A1")->value}; }

    // From the coils back to the source: along the path, then what else is near. Never in a power line.
    std::vector<End> places() const {
        std::vector<End> ends;
        const auto put = [&](const Device &device, const std::string &terminal) {
            const Net net = device.net_of(terminal)->value;
            if (!around_.in_power(net) && ends.size() < most_places &&
                std::none_of(ends.begin(), ends.end(),
                             [&](const End &each) { return each.device == &device && each.terminal == terminal; }))
                ends.push_back({&device, terminal, net});
        };
        for (const Device *coil : coils_)
            put(*coil, "A1");
        const auto &path = finding_.witness.path;
        for (auto step = on_path_.rbegin(); step != on_path_.rend(); ++step) {
            const auto &[device, text] = *step;
            if (device->kind == DeviceKind::fuse) {
                put(*device, "2");
                continue;
            }
            const auto at = static_cast<std::size_t>(std::find(path.begin(), path.end(), text) - path.begin());
            for (const Contact &contact : contacts_of(*device))
                if (text == device->designation + ":" + contact.first + "-" + contact.second)
                    put(*device, part_.net_name(*device->net_of(contact.first)) == path[at - 1] ? contact.first
                                                                                                : contact.second);
        }
        std::vector<std::pair<std::uint32_t, End>> others;
        for (const Device &device : part_.devices()) {
            if (device.kind == DeviceKind::fuse)
                others.push_back({nearness_[device.net_of("2")->value], {&device, "2", 0}});
            if (has_coil(device))
                others.push_back({nearness_[device.net_of("A1")->value], {&device, "A1", 0}});
            for (const Contact &contact : contacts_of(device))
                if (contact.sense != ContactSense::pole)
                    others.push_back({nearness_[device.net_of(contact.first)->value], {&device, contact.first, 0}});
        }
        std::stable_sort(others.begin(), others.end(), [](const auto &a, const auto &b) { return a.first < b.first; });
        for (const auto &[steps, end] : others)
            if (steps != far)
                put(*end.device, end.terminal);
        return ends;
    }

    void add(const Device &owner, ContactSense sense, const std::vector<End> &ends) {
        if (const auto block = free_block(owner, sense))
            put(owner, *block, ends, Change::Kind::contact_added);
    }

    void put(const Device &owner, const Contact &block, const std::vector<End> &ends, Change::Kind kind) {
        for (const End &end : ends)
            if (end.device != &owner)
                changes_.push_back({.kind = kind,
                                    .device = end.device->designation,
                                    .terminal = end.terminal,
                                    .net = {},
                                    .owner = owner.designation,
                                    .block = block});
    }

    // The first row of terminals nothing is wired to: 11-12, 21-22 ...; an overload has one break contact only.
    static std::optional<Contact> free_block(const Device &device, ContactSense sense) {
        if (device.kind == DeviceKind::overload)
            return device.net_of("95") ? std::nullopt : std::optional<Contact>({"95", "96", ContactSense::trip_break});
        const bool make = sense == ContactSense::make;
        for (char row = '1'; row <= '9'; ++row)
            if (std::none_of(device.terminals.begin(), device.terminals.end(), [&](const Device::Terminal &terminal) {
                    return terminal.name.size() == 2 && terminal.name[0] == row;
                }))
                return Contact{row + std::string(make ? "3" : "1"), row + std::string(make ? "4" : "2"), sense};
        return std::nullopt;
    }

    const Circuit &part_;
    const Finding &finding_;
    const std::vector<std::string> &helpers_;
    Surroundings around_;
    std::vector<std::pair<const Device *, std::string>> on_path_; ///< contacts and fuses, source first
    std::vector<const Device *> coils_, subjects_;
    std::vector<Net> near_;
    std::vector<std::uint32_t> nearness_;
    std::vector<Change> changes_;
};

} // namespace

std::vector<Change> candidates(const Circuit &part, const Finding &finding, const std::vector<std::string> &helpers) {
    return Search(part, finding, helpers).run();
}

} // namespace stopspan
