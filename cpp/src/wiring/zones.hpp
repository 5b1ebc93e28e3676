#pragma once

#include "wiring/rung.hpp"

#include <deque>

namespace stopspan::wiring {

/// Whether it takes power off its machines by contactors ahead of them.
bool acts_on_power(ZoneLink link);

/// Chains, relays, contactors and rails of the zones. Made while machines ask for them; finish() adds what holds them.
class Zones {
public:
    explicit Zones(Site &site);

    /// Rail of a series chain for machines of it, with its feed: only the rail's line, and the neutral.
    const Feed &rail(ZoneId zone);
    /// Feed behind the zone's contactor, or its two in series, for that point of the distribution.
    Feed behind_contactor(ZoneId zone, const Feed &feed);
    /// The zone's contacts in a machine's rung. A further series chain acts by single blocks.
    std::string through(ZoneId zone, Names &names, std::string from, bool first_series_done);
    void finish();

private:
    struct State {
        std::optional<Names> names;
        std::optional<Feed> rail; ///< series chain
        std::string held, back;   ///< coil nets
        std::string ready;        ///< end of the chain; what feeds a stop relay and its outputs
        std::string stop_relay;
        std::vector<std::string> outputs;   ///< of the stop relay: one coil net per row of contactors
        std::vector<std::string> watched;   ///< contactors in its feedback
        std::vector<std::string> relays;    ///< relay zones
        std::size_t contacts = 0;           ///< of the last relay
        std::map<std::string, Feed> behind; ///< contactor zones: by first line net
        std::string self_holding;           ///< the contactor that may hold the zone, if it is the only one
        std::size_t contactors = 0;
        Feed feed;
        bool well_tried = false; ///< its contactors and relays
    };
    State &state(ZoneId zone);
    std::string chain(ZoneId zone, State &state, std::string from);
    void open(ZoneId zone, State &state);
    Feed feed_of(ZoneId zone);
    std::string add_coil(State &state, DeviceKind kind, const std::string &a1);
    void add_stop_relay(ZoneId zone, State &state, const std::string &fused);
    std::string add_contactor(State &own, const Feed &feed, const std::string &held, std::vector<std::string> &lines,
                              std::string &a1);
    void finish_stop_relay(ZoneId zone, State &own);
    std::string place(const State &state) const;
    std::string reset_device(ZoneId zone, State &state);

    Site &site_;
    std::vector<State> states_;
};

} // namespace stopspan::wiring
