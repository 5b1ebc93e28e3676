#include "switching/network.hpp"

#include "switching/dead_ends.hpp"
#include "switching/live.hpp"
#include "switching/nodal.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

namespace stopspan {
namespace {

// A coil whose holding power nobody declared is tried at several: 1 to 12 VA around the usual 8, 0.3 to 5 W around
// the usual 3. The last is the usual value itself.
constexpr std::array<double, 5> ac_coil_scales{1.0 / 8, 2.0 / 8, 4.0 / 8, 12.0 / 8, 1};
constexpr std::array<double, 5> dc_coil_scales{0.3 / 3, 1.0 / 3, 2.0 / 3, 5.0 / 3, 1};
constexpr int usual_scale = 4;

thread_local std::size_t work_done = 0;

} // namespace

Network::Network(const Compiled &circuit) : circuit_(circuit), ground_(circuit.net_count) {
    const std::size_t nodes = circuit.net_count + 1 + circuit.sources.size();
    net_parent_.resize(circuit.net_count);
    group_parent_.resize(nodes);
    group_offset_.resize(nodes);
    source_group_.resize(nodes);
    island_parent_.resize(nodes);
    islands_.resize(nodes);
    solution_.resize(nodes);
    solution_scale_.resize(nodes);
    alive_.resize(circuit.sources.size());
    collapsed_.resize(circuit.sources.size());
    transformed_.resize(circuit.sources.size());
}

std::uint32_t Network::root(std::uint32_t net) const {
    while (net_parent_[net] != net) {
        net_parent_[net] = net_parent_[net_parent_[net]];
        net = net_parent_[net];
    }
    return net;
}

Network::Place Network::place(std::uint32_t node) const {
    Volts offset{};
    while (group_parent_[node] != node) {
        offset = offset + group_offset_[node];
        node = group_parent_[node];
    }
    return {node, offset};
}

bool Network::unite(std::uint32_t a, std::uint32_t b, Volts a_minus_b) {
    const Place at_a = place(a), at_b = place(b);
    if (at_a.group == at_b.group) {
        if ((at_a.offset - at_b.offset).same(a_minus_b))
            return true;
        conflict_ = {a, b};
        return false;
    }
    // Earth stays the root of its group, so that its offsets are potentials to earth.
    if (at_a.group == ground_) {
        group_parent_[at_b.group] = at_a.group;
        group_offset_[at_b.group] = at_a.offset - a_minus_b - at_b.offset;
    } else {
        group_parent_[at_a.group] = at_b.group;
        group_offset_[at_a.group] = at_b.offset + a_minus_b - at_a.offset;
    }
    return true;
}

void Network::join_contacts(const State &state) {
    std::iota(net_parent_.begin(), net_parent_.end(), 0U);
    for (const Switch &contact : circuit_.switches)
        if (contact.closed(state)) {
            const std::uint32_t a = root(contact.a), b = root(contact.b);
            if (a != b)
                net_parent_[a] = b;
        }
}

bool Network::pole_lost(const State &state, const Source &source, std::size_t pole) const {
    return state[source.variable] >> pole & 1;
}

Volts Network::source_volts(std::size_t source, std::size_t pole) const {
    const Source &from = circuit_.sources[source];
    if (from.feed != Source::Feed::transformer)
        return from.poles[pole].volts;
    const Volts nominal = from.poles[pole].volts; // phase 0: turned and scaled by the primary
    return {nominal.ac * transformed_[source].ac, 0};
}

bool Network::group_sources(const State &state) {
    std::iota(group_parent_.begin(), group_parent_.end(), 0U);
    std::fill(source_group_.begin(), source_group_.end(), std::uint8_t{0});
    conflict_ = {none, none};
    islands_found_ = false;
    carrying_.clear();
    bool sound = unite(root(circuit_.earth), ground_, {});
    for (std::size_t s = 0; s < circuit_.sources.size(); ++s) {
        const Source &source = circuit_.sources[s];
        const bool gives = alive_[s] && !collapsed_[s];
        const std::uint32_t reference = source.earthed != none ? ground_ : ground_ + 1 + static_cast<std::uint32_t>(s);
        for (std::uint32_t p = 0; p < source.poles.size(); ++p) {
            if (pole_lost(state, source, p) || (!gives && p != source.earthed))
                continue; // the bond of an earthed pole outlives its voltage
            sound = unite(root(source.poles[p].net), reference, gives ? source_volts(s, p) : Volts{}) && sound;
        }
    }
    for (std::size_t s = 0; s < circuit_.sources.size(); ++s) {
        const Source &source = circuit_.sources[s];
        if (alive_[s] && !collapsed_[s])
            for (std::uint32_t p = 0; p < source.poles.size(); ++p)
                if (!pole_lost(state, source, p))
                    source_group_[place(root(source.poles[p].net)).group] = 1;
    }
    source_group_[ground_] = 1;
    return sound;
}

// Sources that live from others: the ones fed so far give more of them their feed.
bool Network::feed_sources(const State &state) {
    for (std::size_t s = 0; s < circuit_.sources.size(); ++s) {
        const Source &source = circuit_.sources[s];
        alive_[s] = source.feed == Source::Feed::own;
        transformed_[s] = {1, 0};
    }
    bool sound = group_sources(state);
    for (std::size_t level = 0; sound && level < circuit_.sources.size(); ++level) {
        bool changed = false;
        for (std::size_t s = 0; s < circuit_.sources.size(); ++s) {
            const Source &source = circuit_.sources[s];
            if (alive_[s] || source.feed == Source::Feed::own)
                continue;
            const Reading feed = between(source.feed_a, source.feed_b);
            if (source.feed == Source::Feed::ac_to_dc) {
                if (feed.volts < feed_threshold)
                    continue;
            } else {
                if (feed.volts < 1e-3)
                    continue;
                const Volts across =
                    value(place(root(source.feed_a)), usual_scale) - value(place(root(source.feed_b)), usual_scale);
                transformed_[s] = {across.ac / source.primary_v, 0};
            }
            alive_[s] = 1;
            changed = true;
        }
        if (!changed)
            break;
        sound = group_sources(state);
    }
    return sound;
}

std::size_t network_work() noexcept {
    return work_done;
}

void add_network_work(std::size_t pictures) noexcept {
    work_done += pictures;
}

bool Network::evaluate(State &state) {
    ++work_done;
    state_ = &state;
    short_notes_.clear();
    std::fill(collapsed_.begin(), collapsed_.end(), std::uint8_t{0});
    bool cleared = false;
    join_contacts(state);
    while (!feed_sources(state)) {
        cleared = true;
        if (!clear_short(state))
            break;
        join_contacts(state);
    }
    return cleared;
}

std::optional<Volts> Network::pole_potential(std::uint32_t net) const {
    const Place at = place(root(net));
    if (!source_group_[at.group])
        return std::nullopt;
    return at.offset;
}

bool Network::floating(std::uint32_t net) const {
    const std::uint32_t group = place(root(net)).group;
    return group != ground_ && source_group_[group];
}

bool Network::is_source_group(std::uint32_t group) const {
    return source_group_[group] == 1;
}

std::uint32_t Network::island_root(std::uint32_t group) const {
    while (island_parent_[group] != group) {
        island_parent_[group] = island_parent_[island_parent_[group]];
        group = island_parent_[group];
    }
    return group;
}

void Network::find_islands() {
    if (islands_found_)
        return;
    islands_found_ = true;
    bool again = true, loose = false; // loose: a source is at no fixed potential of its own
    while (again) {
        again = false;
        bool coupled = false;
        std::iota(island_parent_.begin(), island_parent_.end(), 0U);
        std::fill(islands_.begin(), islands_.end(), Island{});
        std::fill(solution_scale_.begin(), solution_scale_.end(), 0.0);
        // A floating source joined to another through a load is no longer a fixed potential of its own.
        const auto touch = [&](std::uint32_t island, Place at) {
            Island &one = islands_[island];
            if (!one.touched) {
                one.touched = true;
                one.first = at.offset;
                one.reference = at.group;
            } else if (one.reference != at.group) {
                one.coupled = coupled = true;
            } else if (!one.first.same(at.offset)) {
                one.several = true;
            }
        };
        const auto join = [&](Place a, Place b, bool unknown, bool unknown_coil) {
            if (a.group == b.group)
                return;
            const bool a_fixed = is_source_group(a.group), b_fixed = is_source_group(b.group);
            std::uint32_t island = none;
            if (a_fixed && b_fixed) {
                if (!unknown) {
                    const std::uint32_t floating = a.group == ground_ ? b.group : a.group;
                    source_group_[floating] = 2;
                    again = loose = true;
                }
                return;
            }
            if (a_fixed || b_fixed) {
                island = island_root(a_fixed ? b.group : a.group);
                touch(island, a_fixed ? a : b);
            } else {
                island = island_root(a.group);
                const std::uint32_t other = island_root(b.group);
                if (other != island) {
                    island_parent_[other] = island;
                    Island &one = islands_[island];
                    const Island &two = islands_[other];
                    if (two.touched)
                        touch(island, {two.reference, two.first});
                    one.several |= two.several;
                    one.coupled |= two.coupled;
                    one.unknown |= two.unknown;
                    one.unknown_coil |= two.unknown_coil;
                }
            }
            islands_[island].unknown |= unknown;
            islands_[island].unknown_coil |= unknown_coil;
        };
        for (const Impedance &each : circuit_.impedances)
            join(place(root(each.a)), place(root(each.b)), false, each.unknown_coil);
        for (const auto &nets : circuit_.unknown_links)
            for (std::size_t i = 1; i < nets.size(); ++i)
                join(place(root(nets[0])), place(root(nets[i])), true, false);
        if (coupled)
            for (std::uint32_t source = ground_ + 1; source < islands_.size(); ++source) {
                const std::uint32_t at = place(source).group;
                if (source_group_[at] == 1 && at != ground_) {
                    source_group_[at] = 2;
                    again = loose = true;
                }
            }
        if (loose)
            for (std::uint32_t group = 0; group < islands_.size(); ++group)
                if (source_group_[group] == 2)
                    islands_[island_root(group)].several = true;
    }
}

void Network::solve(std::uint32_t island, double coil_scale) {
    work_done += 10;
    const int scale = static_cast<int>(coil_scale);
    std::vector<std::uint32_t> members;
    std::vector<std::uint32_t> index(islands_.size(), none);
    for (std::uint32_t net = 0; net < circuit_.net_count + 1 + circuit_.sources.size(); ++net) {
        const std::uint32_t group = net < circuit_.net_count ? place(root(net)).group : place(net).group;
        if (index[group] == none && !is_source_group(group) && island_root(group) == island) {
            index[group] = static_cast<std::uint32_t>(members.size());
            members.push_back(group);
        }
    }
    Nodal nodal(members.size());
    for (const Impedance &each : circuit_.impedances) {
        const Place a = place(root(each.a)), b = place(root(each.b));
        const std::uint32_t ia = index[a.group], ib = index[b.group];
        if (ia == none && ib == none)
            continue;
        const bool in = each.armature != none && (*state_)[circuit_.armatures[each.armature].variable] == 1;
        std::complex<double> ac = in ? each.ac_in : each.ac_out;
        double dc = each.dc;
        if (each.unknown_coil) {
            const bool dc_coil = circuit_.armatures[each.armature].dc_coil;
            const double factor = (dc_coil ? dc_coil_scales : ac_coil_scales)[static_cast<std::size_t>(scale)];
            ac *= factor;
            dc *= factor;
        }
        nodal.add(ia, a.offset, ib, b.offset, ac, dc);
    }
    nodal.solve();
    for (std::size_t i = 0; i < members.size(); ++i) {
        solution_[members[i]] = nodal.volts(i);
        solution_scale_[members[i]] = coil_scale + 1;
    }
}

Volts Network::value(Place at, double coil_scale) {
    find_islands();
    if (is_source_group(at.group))
        return at.offset;
    const std::uint32_t island = island_root(at.group);
    if (!islands_[island].several)
        return islands_[island].first + at.offset;
    if (solution_scale_[at.group] != coil_scale + 1)
        solve(island, coil_scale);
    return solution_[at.group] + at.offset;
}

// Whatever stands outside: what hangs on one place alone carries no current, so its nets have the volts of that place.
void Network::find_carrying() {
    const auto fixed = static_cast<std::uint32_t>(islands_.size()); // all sources
    std::vector<std::uint8_t> feeds(source_group_);
    for (const Source &source : circuit_.sources) // a line that is lost may be fed from elsewhere
        for (const Source::Pole &pole : source.poles)
            feeds[place(root(pole.net)).group] = 1;
    std::vector<std::pair<std::uint32_t, std::uint32_t>> edges;
    const auto join = [&](std::uint32_t a, std::uint32_t b) {
        const auto vertex = [&](std::uint32_t net) {
            const std::uint32_t group = place(root(net)).group;
            return feeds[group] != 0 ? fixed : group;
        };
        if (const auto edge = std::pair{vertex(a), vertex(b)}; edge.first != edge.second)
            edges.push_back(edge);
    };
    for (const Impedance &each : circuit_.impedances)
        join(each.a, each.b);
    for (const auto &nets : circuit_.unknown_links) // in a ring: none of them parts the others
        for (std::size_t i = 0; i < nets.size(); ++i)
            join(nets[i], nets[(i + 1) % nets.size()]);
    carrying_ = without_dead_ends(fixed + 1, edges, fixed);
    for (std::uint32_t group = 0; group < fixed; ++group)
        if (feeds[group] != 0)
            carrying_[group] = fixed;
}

bool Network::hang_together(const Place &a, const Place &b) {
    if (carrying_.empty())
        find_carrying();
    return carrying_[a.group] == carrying_[b.group] && carrying_[a.group] != islands_.size();
}

Reading Network::between(std::uint32_t a, std::uint32_t b) {
    const Place at_a = place(root(a)), at_b = place(root(b));
    if (at_a.group == at_b.group)
        return {(at_a.offset - at_b.offset).rms(), true, false};
    find_islands();
    Reading reading{(value(at_a, usual_scale) - value(at_b, usual_scale)).rms(), false, false};
    for (const std::uint32_t group : {at_a.group, at_b.group})
        if (!is_source_group(group)) {
            const Island &island = islands_[island_root(group)];
            reading.unknown |= island.unknown && island.several;
        }
    if (reading.unknown && hang_together(at_a, at_b))
        return {};
    return reading;
}

Volts Network::across(std::uint32_t a, std::uint32_t b) {
    const Place at_a = place(root(a)), at_b = place(root(b));
    return at_a.group == at_b.group ? at_a.offset - at_b.offset : value(at_a, usual_scale) - value(at_b, usual_scale);
}

RatioRange Network::coil_ratio(std::uint32_t index, bool tripping_coil) {
    const Armature &armature = circuit_.armatures[index];
    const std::uint32_t a = tripping_coil ? armature.e1 : armature.a1, b = tripping_coil ? armature.e2 : armature.a2;
    const Reading reading = between(a, b);
    if (reading.unknown)
        return {0, 1, true};
    const double ratio = reading.volts / armature.rated_v;
    RatioRange range{ratio, ratio, false};
    if (reading.ideal || ratio == 0)
        return range;
    const Place at_a = place(root(a)), at_b = place(root(b));
    bool vary = false;
    for (const std::uint32_t group : {at_a.group, at_b.group})
        if (!is_source_group(group)) {
            const Island &island = islands_[island_root(group)];
            vary |= island.several && island.unknown_coil;
        }
    if (vary)
        for (int scale = 0; scale < usual_scale; ++scale) {
            const double other = (value(at_a, scale) - value(at_b, scale)).rms() / armature.rated_v;
            range = {std::min(range.low, other), std::max(range.high, other), false};
        }
    return range;
}

std::uint32_t Network::shared_piece(std::uint32_t index) {
    const Armature &armature = circuit_.armatures[index];
    find_islands();
    for (const std::uint32_t net : {armature.a1, armature.a2, armature.e1, armature.e2}) {
        if (net == none)
            continue;
        const std::uint32_t group = place(root(net)).group;
        if (is_source_group(group))
            continue;
        const std::uint32_t island = island_root(group);
        if (islands_[island].several)
            return island;
    }
    return none;
}

bool Network::live(std::uint32_t net) {
    const Place at = place(root(net));
    if (at.group == ground_)
        return at.offset.rms() > live_v;
    const auto floating_is_live = [&](std::uint32_t group) {
        double highest = 0;
        for (std::size_t s = 0; s < circuit_.sources.size(); ++s)
            if (alive_[s] && circuit_.sources[s].earthed == none)
                for (std::uint32_t p = 0; p < circuit_.sources[s].poles.size(); ++p)
                    for (std::uint32_t q = 0; q < p; ++q)
                        if (place(root(circuit_.sources[s].poles[p].net)).group == group)
                            highest = std::max(highest, (source_volts(s, p) - source_volts(s, q)).rms());
        return highest > live_v;
    };
    find_islands(); // a floating source tied to another by a load is none any more
    if (is_source_group(at.group))
        return floating_is_live(at.group);
    const Island &island = islands_[island_root(at.group)];
    if (island.several && island.unknown)
        return true;
    if (!island.coupled && island.touched && island.reference != ground_)
        return floating_is_live(island.reference);
    return value(at, usual_scale).rms() > live_v;
}

} // namespace stopspan
