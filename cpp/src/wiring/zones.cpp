#include "wiring/zones.hpp"

#include "stopspan/error.hpp"

#include <algorithm>

namespace stopspan::wiring {
namespace {

constexpr std::size_t contacts_per_relay = 8;

} // namespace

Zones::Zones(Site &site) : site_(site), states_(site.description.zones().size()) {}

Zones::State &Zones::state(ZoneId zone) {
    State &state = states_[zone.value];
    if (!state.names) {
        const std::string number = std::to_string(zone.value + 1);
        state.names.emplace(site_.draft, "zone " + site_.description[zone].name, "0" + number, "Z" + number);
        state.feed = feed_of(zone);
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
    site_.draft.add(state.names->owner(), state.names->designation('F'), DeviceKind::fuse,
                    {{"1", state.feed.lines[0]}, {"2", fused}},
                    {{"rating_a", site_.description[zone].link == ZoneLink::series_chain ? 10.0 : 2.0},
                     {"fuse_type", std::string("gG")}});
    state.ready = chain(zone, state, fused);
    state.held = state.names->next_net();
    state.back = state.feed.neutral;
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
    site_.draft.add(state.names->owner(), designation, kind, {{"A1", a1}, {"A2", state.back}},
                    coil({state.feed.voltage_v, false}));
    return designation;
}

Feed Zones::behind_contactor(ZoneId zone, const Feed &feed) {
    State &own = state(zone);
    if (const auto found = own.behind.find(feed.lines[0]); found != own.behind.end())
        return found->second;
    open(zone, own);
    // With an isolator open that this contactor stands behind, its coil must be dead too.
    std::string a1 = own.held;
    for (const std::string &isolator : feed.isolators)
        if (std::find(own.feed.isolators.begin(), own.feed.isolators.end(), isolator) == own.feed.isolators.end()) {
            const std::string to = own.names->next_net();
            site_.draft.contact(isolator, ContactSense::make, a1, to);
            a1 = to;
        }
    const std::string contactor = add_coil(own, DeviceKind::contactor, a1);
    Feed behind = feed;
    for (std::string &line : behind.lines)
        line = own.names->net(contactor + "." + std::to_string(1 + (&line - behind.lines.data())));
    poles(site_.draft, contactor, feed.lines, behind.lines);
    behind.contactors.push_back(contactor);
    own.self_holding = own.contactors++ == 0 && a1 == own.held ? contactor : "";
    own.behind.emplace(feed.lines[0], behind);
    return behind;
}

std::string Zones::through(ZoneId zone, Names &names, std::string from, bool first_series_done) {
    const ZoneLink link = site_.description[zone].link;
    if (link == ZoneLink::zone_contactor || (link == ZoneLink::series_chain && !first_series_done))
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
        if (own.ready.empty() || (zone.link != ZoneLink::zone_relay && zone.link != ZoneLink::zone_contactor))
            continue;
        std::string holds = zone.link == ZoneLink::zone_relay ? own.relays.front() : own.self_holding;
        if (holds.empty())
            holds = add_coil(own, DeviceKind::relay, own.held);
        site_.draft.contact(holds, ContactSense::make, own.ready, own.held);
        const std::string reset = zone.reset.empty() ? own.names->designation('S') : zone.reset;
        if (!site_.draft.has(reset))
            site_.draft.add(own.names->owner(), reset, DeviceKind::key_switch, {},
                            {{"role", std::string("reset")}, {"action", std::string("spring-return")}});
        site_.draft.contact(reset, ContactSense::make, own.ready, own.held);
    }
}

} // namespace stopspan::wiring
