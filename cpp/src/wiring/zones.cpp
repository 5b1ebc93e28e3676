#include "wiring/zones.hpp"

#include "stopspan/error.hpp"

#include <algorithm>

namespace stopspan::wiring {
namespace {

constexpr std::size_t contacts_per_relay = 8;

} // namespace

bool acts_on_power(ZoneLink link) {
    return link == ZoneLink::zone_contactor || link == ZoneLink::stop_relay;
}

Zones::Zones(Site &site) : site_(site), states_(site.description.zones().size()) {}

Zones::State &Zones::state(ZoneId zone) {
    State &state = states_[zone.value];
    if (!state.names) {
        const std::string number = std::to_string(zone.value + 1);
        state.names.emplace(site_.draft, "zone " + site_.description[zone].name, "0" + number, "Z" + number);
        state.feed = feed_of(zone);
        state.well_tried = site_.description[zone].well_tried;
    }
    return state;
}

// Its board, else the board of its first machine.
Feed Zones::feed_of(ZoneId id) {
    const Zone &zone = site_.description[id];
    std::optional<BoardId> board = zone.board;
    for (const MachineId machine : site_.plan.zones[id.value].machines)
        if (!board)
            board = site_.description.board_of(site_.description[machine]);
    if (!board)
        throw Error(ErrorCode::missing_value,
                    "zone " + zone.name + ": no board feeds its control circuit; name a board for it");
    return site_.feeds.board(*board).one_line(0);
}

std::string Zones::chain(ZoneId zone, State &state, std::string from) {
    for (const StopId device : site_.plan.zones[zone.value].chain) {
        const std::string to = state.names->next_net();
        site_.draft.contact(site_.description[device].name, ContactSense::break_, from, to);
        from = to;
    }
    return from;
}

// Fuse and chain up to the reset.
void Zones::open(ZoneId zone, State &state) {
    if (!state.ready.empty())
        return;
    const std::string fused = state.names->next_net();
    const std::string designation = state.names->designation('F');
    site_.draft.add(state.names->owner(), designation, DeviceKind::fuse, {{"1", state.feed.lines[0]}, {"2", fused}},
                    {{"rating_a", site_.description[zone].link == ZoneLink::series_chain ? 10.0 : 2.0},
                     {"fuse_type", std::string("gG")}});
    site_.draft.stands(designation, place(state));
    state.back = state.feed.neutral;
    if (site_.description[zone].link == ZoneLink::stop_relay)
        return add_stop_relay(zone, state, fused);
    state.ready = chain(zone, state, fused);
    state.held = site_.description[zone].automatic_reset ? state.ready : state.names->next_net();
}

// Every channel has its own row of contact blocks, every row of contactors its own output.
void Zones::add_stop_relay(ZoneId zone, State &state, const std::string &fused) {
    const Zone &described = site_.description[zone];
    const int channels = described.channels.value_or(2);
    state.ready = fused;
    state.stop_relay = state.names->designation('K');
    Parameters parameters = coil({state.feed.voltage_v, false});
    parameters.emplace("channels", static_cast<double>(channels));
    parameters.emplace("reset", std::string(described.automatic_reset ? "automatic" : "manual"));
    if (described.stop_relay_failures_per_h)
        parameters.emplace("dangerous_failures_per_h", *described.stop_relay_failures_per_h);
    if (described.stop_relay_category)
        parameters.emplace("safety_category", std::string(to_text(*described.stop_relay_category)));
    std::vector<Connection> connections{{"A1", fused}, {"A2", state.back}};
    for (int channel = 1; channel <= channels; ++channel) {
        const std::string input = "S" + std::to_string(channel), from = state.names->next_net();
        connections.push_back({input + "1", from});
        connections.push_back({input + "2", chain(zone, state, from)});
    }
    site_.draft.add(state.names->owner(), state.stop_relay, DeviceKind::stop_relay, std::move(connections), parameters);
    site_.draft.stands(state.stop_relay, place(state));
    for (int output = 0; output < 2; ++output) {
        state.outputs.push_back(state.names->next_net());
        site_.draft.contact(state.stop_relay, ContactSense::make, fused, state.outputs.back());
    }
}

std::string Zones::place(const State &state) const {
    return "board " + site_.description[state.feed.board].name;
}

const Feed &Zones::rail(ZoneId zone) {
    State &own = state(zone);
    if (!own.rail) {
        open(zone, own);
        own.rail = own.feed;
        own.rail->lines = {own.ready};
    }
    return *own.rail;
}

std::string Zones::add_coil(State &state, DeviceKind kind, const std::string &a1) {
    const std::string designation = state.names->designation(kind == DeviceKind::contactor ? 'Q' : 'K');
    Parameters parameters = coil({state.feed.voltage_v, false});
    if (state.well_tried)
        parameters.emplace("well_tried", true);
    site_.draft.add(state.names->owner(), designation, kind, {{"A1", a1}, {"A2", state.back}}, parameters);
    site_.draft.stands(designation, place(state));
    return designation;
}

Feed Zones::behind_contactor(ZoneId zone, const Feed &feed) {
    State &own = state(zone);
    if (const auto found = own.behind.find(feed.lines[0]); found != own.behind.end())
        return found->second;
    open(zone, own);
    Feed behind = feed;
    const std::vector<std::string> coils = own.outputs.empty() ? std::vector{own.held} : own.outputs;
    std::string a1;
    for (const std::string &held : coils)
        behind.contactors.push_back(add_contactor(own, feed, held, behind.lines, a1));
    if (!own.outputs.empty())
        own.watched.insert(own.watched.end(), behind.contactors.end() - 2, behind.contactors.end());
    else
        own.self_holding = own.contactors++ == 0 && a1 == own.held ? behind.contactors.back() : "";
    own.behind.emplace(feed.lines[0], behind);
    return behind;
}

// @param a1  comes out as the net of its coil
std::string Zones::add_contactor(State &own, const Feed &feed, const std::string &held, std::vector<std::string> &lines,
                                 std::string &a1) {
    // With an isolator open that this contactor stands behind, its coil must be dead too.
    a1 = held;
    for (const std::string &isolator : feed.isolators)
        if (std::find(own.feed.isolators.begin(), own.feed.isolators.end(), isolator) == own.feed.isolators.end()) {
            const std::string to = own.names->next_net();
            site_.draft.contact(isolator, ContactSense::make, a1, to);
            a1 = to;
        }
    const std::string contactor = add_coil(own, DeviceKind::contactor, a1);
    const std::vector<std::string> ahead = lines;
    for (std::size_t i = 0; i < lines.size(); ++i)
        lines[i] = own.names->net(contactor + "." + std::to_string(i + 1));
    poles(site_.draft, contactor, ahead, lines);
    return contactor;
}

std::string Zones::through(ZoneId zone, Names &names, std::string from, bool first_series_done) {
    const ZoneLink link = site_.description[zone].link;
    if (acts_on_power(link) || (link == ZoneLink::series_chain && !first_series_done))
        return from;
    if (link == ZoneLink::zone_relay) {
        State &own = state(zone);
        open(zone, own);
        // The first relay's holding contact is not one of the eight.
        if (own.relays.empty() || own.contacts == contacts_per_relay) {
            own.relays.push_back(add_coil(own, DeviceKind::relay, own.held));
            own.contacts = 0;
        }
        ++own.contacts;
        const std::string to = names.next_net();
        site_.draft.contact(own.relays.back(), ContactSense::make, from, to);
        return to;
    }
    for (const StopId device : site_.plan.zones[zone.value].chain) {
        const std::string to = names.next_net();
        site_.draft.contact(site_.description[device].name, ContactSense::break_, from, to);
        from = to;
    }
    return from;
}

void Zones::finish() {
    for (std::uint32_t i = 0; i < states_.size(); ++i) {
        State &own = states_[i];
        const Zone &zone = site_.description.zones()[i];
        if (own.ready.empty())
            continue;
        if (zone.link == ZoneLink::stop_relay) {
            finish_stop_relay({i}, own);
            continue;
        }
        if (zone.automatic_reset || (zone.link != ZoneLink::zone_relay && zone.link != ZoneLink::zone_contactor))
            continue;
        std::string holds = zone.link == ZoneLink::zone_relay ? own.relays.front() : own.self_holding;
        if (holds.empty())
            holds = add_coil(own, DeviceKind::relay, own.held);
        site_.draft.contact(holds, ContactSense::make, own.ready, own.held);
        site_.draft.contact(reset_device({i}, own), ContactSense::make, own.ready, own.held);
    }
}

std::string Zones::reset_device(ZoneId zone, State &state) {
    const std::string &named = site_.description[zone].reset;
    const std::string reset = named.empty() ? state.names->designation('S') : named;
    if (!site_.draft.has(reset)) {
        site_.draft.add(state.names->owner(), reset, DeviceKind::key_switch, {},
                        {{"role", std::string("reset")}, {"action", std::string("spring-return")}});
        site_.draft.stands(reset, place(state));
    }
    return reset;
}

// Reset, and the mirror contacts of its contactors: with one of them welded it does not come in again. The contactors
// of machines are not in it, since they are no part of this stop, and hundreds may stand behind one relay.
void Zones::finish_stop_relay(ZoneId zone, State &own) {
    Draft &draft = site_.draft;
    if (!site_.description[zone].automatic_reset) {
        const std::string from = own.names->next_net(), to = own.names->next_net();
        draft.connect(own.stop_relay, "S33", from);
        draft.connect(own.stop_relay, "S34", to);
        draft.contact(reset_device(zone, own), ContactSense::make, from, to);
    }
    if (own.watched.empty())
        return;
    std::string from = own.names->next_net();
    draft.connect(own.stop_relay, "Y1", from);
    for (const std::string &contactor : own.watched) {
        const std::string to = own.names->next_net();
        draft.contact(contactor, ContactSense::break_, from, to);
        from = to;
    }
    draft.connect(own.stop_relay, "Y2", from);
}

} // namespace stopspan::wiring
