#include "checks/repairs/change.hpp"
#include "checks/repairs/surroundings.hpp"
#include "checks/repairs/wiring.hpp"

#include <algorithm>
#include <array>

namespace stopspan {
namespace {

constexpr std::size_t most_ends = 40;    // ends of wires that are suspected
constexpr std::size_t most_targets = 12; // nets each of them is tried on
constexpr std::size_t most_places = 24;  // places for a contact
// A return is taken from behind an isolator rather than from the pole: more steps than there are to any of them.
constexpr std::uint32_t behind_isolators = 1'000;

struct End {
    const Device *device;
    std::string terminal;
    Net net;
};

class Search {
public:
    Search(const Circuit &part, const Finding &finding, const std::vector<std::string> &helpers)
        : part_(part), finding_(finding), helpers_(helpers), around_(part) {}

    std::vector<Change> run() {
        read_path();
        earth_poles();
        watch_supplies();
        remove_links();
        part_lines();
        add_wires();
        move_wires();
        change_contacts();
        place_contacts();
        change_coils();
        thicken_conductors();
        // A device may lack the blocks, or a name or net may be taken.
        std::erase_if(changes_, [&](const Change &change) { return !fits(part_, change); });
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
                if (const auto id = part_.find(step.substr(coil_of.size()))) {
                    const Device &device = part_.device(*id);
                    if (has_coil(device))
                        coils_.push_back(&device);
                    else // latched: its coils end elsewhere
                        for (const Device::Terminal &terminal : device.terminals)
                            near_.push_back(terminal.net.value);
                }
            } else if (const auto id = part_.find(step.substr(0, step.find(':'))); id && i % 2 == 1) {
                on_path_.push_back({&part_.device(*id), step});
            } else if (const auto net = part_.find_net(step)) {
                near_.push_back(net->value);
                if (around_.source(net->value))
                    add_feed_of(*net);
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

    // A coil's or motor's end at the common return, with others.
    bool return_end(const Device &device, const std::string &terminal, Net net) const {
        return (terminal == "A2" || terminal == "E2" || (terminal == "N" && device.kind == DeviceKind::motor_1ph)) &&
               around_.ends(net) > 2;
    }

    // A lamp or the like that is part of the way to a coil.
    bool load_on_path(const Device &device) const {
        return two_terminals(device.kind) &&
               std::any_of(on_path_.begin(), on_path_.end(), [&](const auto &step) { return step.first == &device; });
    }

    // A contact or coil stays behind its fuse, a feed first on its phase, a return on a return; a lamp that lacks one
    // gets one.
    std::vector<Net> targets(const End &end) const {
        const bool back = return_end(*end.device, end.terminal, end.net);
        const bool feed = !back && feed_end(*end.device, end.terminal, end.net);
        const auto steps =
            around_.distances({end.net}, feed || back ? Surroundings::power : Surroundings::control, feed || back);
        std::vector<std::pair<std::uint32_t, Net>> order;
        for (Net net = 0; net < steps.size(); ++net) {
            const bool fits = feed   ? around_.in_power(net) && (around_.source(net) || !around_.at_motor(net))
                              : back ? around_.in_power(net)
                                     : !around_.source(net);
            if (fits && steps[net] != far && net != end.net && !beside(*end.device, end.terminal, net))
                order.emplace_back(steps[net] + (back && around_.source(net) ? behind_isolators : 0), net);
        }
        const auto also = [&](std::uint32_t rank, Net net) {
            if (net != end.net && !beside(*end.device, end.terminal, net))
                order.emplace_back(rank, net);
        };
        // Where one wire end hangs alone, another is missing.
        if (!feed && !back)
            for (Net net = 0; net < steps.size(); ++net)
                if (around_.ends(net) == 1 && !around_.in_power(net))
                    also(0, net);
        const std::vector<Net> phases = lines();
        if (feed && std::any_of(phases.begin(), phases.end(), [&](Net line) { return steps[line] != far; }))
            for (const Net line : phases)
                also(far, line);
        if (load_on_path(*end.device))
            for (const Net net : returns())
                also(0, net);
        std::sort(order.begin(), order.end());
        order.erase(std::unique(order.begin(), order.end()), order.end());
        order.resize(std::min(order.size(), most_targets));
        std::vector<Net> nets;
        for (const auto &[distance, net] : order)
            if (std::find(nets.begin(), nets.end(), net) == nets.end())
                nets.push_back(net);
        return nets;
    }

    // Line poles of the mains.
    std::vector<Net> lines() const {
        std::vector<Net> nets;
        for (const Device &device : part_.devices())
            if (device.kind == DeviceKind::mains_1ph || device.kind == DeviceKind::mains_3ph)
                for (const Device::Terminal &terminal : device.terminals)
                    if (terminal.name[0] == 'L')
                        nets.push_back(terminal.net.value);
        return nets;
    }

    // Nets that coils return to.
    std::vector<Net> returns() const {
        std::vector<Net> nets;
        for (const Device &coil : part_.devices())
            if (const auto back = coil.net_of("A2"))
                if (std::find(nets.begin(), nets.end(), back->value) == nets.end() && nets.size() < most_targets)
                    nets.push_back(back->value);
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
                if (nearness_[net] == far || leaves_idle(device, net))
                    continue;
                const bool back = return_end(device, terminal.name, net);
                if (back || control_end(device, terminal.name) || feed_end(device, terminal.name, net) ||
                    load_on_path(device))
                    ends.push_back(
                        {{terminal.name == "A1" || (back && suspicion(device) > 2), suspicion(device), nearness_[net]},
                         {&device, terminal.name, net}});
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
                for (const Net to : returns())
                    wire(Change::Kind::wire_added, device, terminal.name, to);
            }
    }

    // A supply that floats, the side that coils return to first; or the other pole of one that does not.
    void earth_poles() {
        if (finding_.rule != "earth-fault" && finding_.rule != "earthed-side")
            return;
        for (const Device &source : part_.devices())
            for (const std::string_view pole : {"M", "s2", "N", "P", "s1", "L"})
                if (feeds(source.kind) && source.net_of(pole) && source.word("earthed_pole") != pole)
                    changes_.push_back({.kind = Change::Kind::pole_earthed,
                                        .device = source.designation,
                                        .terminal = std::string(pole),
                                        .net = {},
                                        .owner = {},
                                        .block = {},
                                        .instead = {}});
    }

    // Where no pole can be earthed, the first of two earth faults can be made to show.
    void watch_supplies() {
        if (finding_.rule != "earth-fault")
            return;
        std::string name = "A1";
        for (int number = 2; part_.find(name); ++number)
            name = "A" + std::to_string(number);
        for (const Device *source : subjects_)
            for (const std::string_view pole : {"P", "s1"})
                if (source->net_of(pole) && !source->word("earthed_pole"))
                    changes_.push_back({.kind = Change::Kind::monitor_added,
                                        .device = name,
                                        .terminal = {},
                                        .net = part_.net_name(*source->net_of(pole)),
                                        .owner = {},
                                        .block = {},
                                        .instead = {}});
    }
    static bool feeds(DeviceKind kind) { return kind == DeviceKind::dc_supply || kind == DeviceKind::transformer; }

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
                                .block = {},
                                .instead = {}});
    }

    // A coil at the end of a long line.
    void thicken_conductors() {
        if (finding_.rule == "coil-volts")
            for (const Device &device : part_.devices())
                if (std::any_of(device.terminals.begin(), device.terminals.end(),
                                [&](const Device::Terminal &end) { return nearness_[end.net.value] != far; }))
                    for (Change &change : thicker(device))
                        changes_.push_back(std::move(change));
    }

    // Where links join the lines of coils to act on one more, each line feeds the others. What hangs on links alone is
    // that one.
    void part_lines() {
        std::size_t parted = 0;
        for (const Device &coil : part_.devices()) {
            const auto line = has_coil(coil) ? coil.net_of("A1") : std::nullopt;
            if (!line || nearness_[line->value] == far || !only_closes(coil))
                continue;
            std::vector<std::pair<const Device *, Net>> links; // and where they lead
            std::size_t others = 0;
            for (const Device &device : part_.devices())
                for (const Device::Terminal &end : device.terminals)
                    if (end.net == *line && device.kind == DeviceKind::link)
                        links.emplace_back(&device, device.terminals[&end == &device.terminals[0]].net.value);
                    else
                        others += end.net == *line;
            for (const auto &[link, other] : links)
                if (others == 1 && links.size() > 1 && ++parted <= most_targets)
                    changes_.push_back({.kind = Change::Kind::line_parted,
                                        .device = free_name(part_, coil.designation, 'B'),
                                        .terminal = {},
                                        .net = part_.nets()[other],
                                        .owner = link->designation,
                                        .block = {},
                                        .instead = {},
                                        .like = coil.designation});
        }
    }

    static bool only_closes(const Device &device) {
        const std::vector<Contact> contacts = contacts_of(device);
        return device.kind != DeviceKind::timer &&
               std::all_of(contacts.begin(), contacts.end(), [](const Contact &contact) {
                   return contact.sense == ContactSense::pole || contact.sense == ContactSense::make;
               });
    }

    void wire(Change::Kind kind, const Device &device, const std::string &terminal, Net to) {
        changes_.push_back({.kind = kind,
                            .device = device.designation,
                            .terminal = terminal,
                            .net = part_.nets()[to],
                            .owner = {},
                            .block = {},
                            .instead = {}});
    }

    // ---- contacts

    // The wrong block of a device, one that does not belong there, or one that is in the way.
    void change_contacts() {
        const auto contacts_at = [&](const Device &device) {
            std::vector<Contact> contacts;
            for (const Contact &contact : contacts_of(device))
                if (contact.sense != ContactSense::pole &&
                    (std::find(subjects_.begin(), subjects_.end(), &device) != subjects_.end() ||
                     std::any_of(on_path_.begin(), on_path_.end(), [&](const auto &step) {
                         return step.second == contact_text(device.designation, contact);
                     })))
                    contacts.push_back(contact);
            return contacts;
        };
        const auto change = [&](Change::Kind kind, const Device &device, const Contact &block, const Contact &instead) {
            changes_.push_back({.kind = kind,
                                .device = {},
                                .terminal = {},
                                .net = {},
                                .owner = device.designation,
                                .block = block,
                                .instead = instead});
        };
        for (const Device &device : part_.devices())
            for (const Contact &contact : contacts_at(device))
                if (const auto other = opposite(device, contact))
                    change(Change::Kind::contact_exchanged, device, contact, *other);
        for (const Device &device : part_.devices())
            if (has_coil(device) || contacts_of(device).size() > 1)
                for (const Contact &contact : contacts_at(device))
                    if (contact.sense == ContactSense::make)
                        change(Change::Kind::contact_removed, device, contact, {});
        if (finding_.rule == "stop-spares" || finding_.rule == "isolator-clears")
            for (const Device *device : subjects_)
                if (contacts_of(*device).size() > 1)
                    for (const Contact &contact : contacts_at(*device))
                        change(Change::Kind::contact_bridged, *device, contact, {});
    }

    // The contact of the other sense in the same row, where nothing is wired to it; else in the first free row.
    static std::optional<Contact> opposite(const Device &device, const Contact &contact) {
        static constexpr std::string_view ends = "12345678", other_ends = "34127856";
        const auto place = [&](const std::string &terminal) {
            return terminal.size() == 2 && terminal[0] <= '9' ? ends.find(terminal[1]) : std::string_view::npos;
        };
        if (place(contact.first) == std::string_view::npos || place(contact.second) == std::string_view::npos)
            return std::nullopt; // inputs and outputs that are called otherwise
        const auto other = [&](const std::string &terminal) {
            return terminal.substr(0, 1) + other_ends[place(terminal)];
        };
        Contact turned{other(contact.first), other(contact.second), opposite(contact.sense)};
        if (!device.net_of(turned.first) && !device.net_of(turned.second))
            return turned;
        if (turned.sense == ContactSense::make || turned.sense == ContactSense::break_)
            return free_block(device, turned.sense);
        return std::nullopt;
    }

    static ContactSense opposite(ContactSense sense) {
        switch (sense) {
        case ContactSense::make:
            return ContactSense::break_;
        case ContactSense::break_:
            return ContactSense::make;
        case ContactSense::delayed_make:
            return ContactSense::delayed_break;
        case ContactSense::delayed_break:
            return ContactSense::delayed_make;
        case ContactSense::trip_make:
            return ContactSense::trip_break;
        case ContactSense::trip_break:
            return ContactSense::trip_make;
        case ContactSense::pole:
            break;
        }
        return sense;
    }

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
        // What stands in a coil's return belongs ahead of it.
        if (rule == "earth-fault" || rule == "earthed-side")
            for (const Device *coil : coils_)
                for (const Device &device : part_.devices())
                    for (const Contact &contact : contacts_of(device))
                        if (contact.sense != ContactSense::pole &&
                            (device.net_of(contact.first) == coil->net_of("A2") ||
                             device.net_of(contact.second) == coil->net_of("A2")))
                            put(device, contact, {coil_end(*coil)}, Change::Kind::contact_moved);
        // What the stop lets fall already can take this with it.
        if (rule == "stop-cuts")
            for (const std::string &helper : helpers_)
                if (const auto id = part_.find(helper))
                    add(part_.device(*id), ContactSense::make, along);
    }

    // Contacts in the return are passed by where it touches earth; a coil between two lines then has what is left of
    // them across it.
    void change_coils() {
        const std::string &rule = finding_.rule;
        const bool earthed = rule == "earth-fault" || rule == "earthed-side";
        const auto change = [&](Change::Kind kind, const Device &coil, const std::string &back) {
            changes_.push_back({.kind = kind,
                                .device = coil.designation,
                                .terminal = "A2",
                                .net = back,
                                .owner = {},
                                .block = {},
                                .instead = {}});
        };
        std::vector<const Device *> coils;
        for (const Device *coil : coils_)
            if (std::find(coils.begin(), coils.end(), coil) == coils.end())
                coils.push_back(coil);
        if (earthed)
            for (const Device *coil : coils)
                if (const auto line = return_line(part_, *coil))
                    change(Change::Kind::coil_turned, *coil, line->pole);
        if (earthed || rule == "coil-volts" || rule == "stop-cuts")
            for (const Device &owner : part_.devices())
                for (const Contact &block : contacts_of(owner))
                    if (const auto behind = block.sense == ContactSense::pole ? std::vector<std::string>()
                                                                              : coils_behind(part_, owner, block);
                        behind.size() > 1)
                        put_per_coil(owner, block, behind[0]);
        if (rule == "earth-fault")
            for (const Device *coil : coils)
                if (const auto exchanged = coil_to_neutral(part_, *coil))
                    change(Change::Kind::coil_exchanged, *coil, exchanged->second);
    }

    void put_per_coil(const Device &owner, const Contact &block, const std::string &coil) {
        const NetId first = *owner.net_of(block.first), second = *owner.net_of(block.second);
        changes_.push_back({.kind = Change::Kind::contact_per_coil,
                            .device = {},
                            .terminal = {},
                            .net = part_.net_name(part_.at(coil).net_of("A2") == first ? second : first),
                            .owner = owner.designation,
                            .block = block,
                            .instead = {}});
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
                if (text == contact_text(device->designation, contact))
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
                                    .block = block,
                                    .instead = {}});
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
