#include "switching/feeding_poles.hpp"

#include <algorithm>
#include <set>
#include <utility>

namespace stopspan {
namespace {

// Ways to follow from one pole: past that its current counts as coming everywhere.
constexpr std::size_t most_ways = 20'000;

} // namespace

FeedingPoles::FeedingPoles(const Compiled &circuit, std::vector<std::uint8_t> positions)
    : positions_(std::move(positions)), edges_(circuit.net_count), mark_(circuit.net_count, 0) {
    const auto join = [&](std::uint32_t a, std::uint32_t b, std::uint32_t variable, std::uint8_t closed_at,
                          bool conductor) {
        edges_[a].push_back({b, variable, closed_at, conductor});
        edges_[b].push_back({a, variable, closed_at, conductor});
    };
    for (const Switch &one : circuit.switches)
        if (one.closed_at != 0)
            join(one.a, one.b, one.variable, one.closed_at, true);
    for (const Impedance &one : circuit.impedances)
        join(one.a, one.b, none, 0, false);
    std::vector<std::uint8_t> dead(circuit.sources.size(), 0);
    for (bool again = true; again;) {
        follow_all(circuit, dead);
        again = false;
        for (std::size_t s = 0; s < circuit.sources.size(); ++s)
            if (const Source &source = circuit.sources[s];
                source.feed != Source::Feed::own && !dead[s] && nothing_between(source.feed_a, source.feed_b)) {
                dead[s] = 1;
                again = true;
            }
    }
}

// @param dead  per source: where its poles are, current goes on as anywhere
void FeedingPoles::follow_all(const Compiled &circuit, const std::vector<std::uint8_t> &dead) {
    pole_at_.assign(circuit.net_count, none);
    comes_.assign(circuit.net_count, none);
    of_the_mains_.assign(1, 0);
    const auto is_own = [](const Source &source) { return source.feed == Source::Feed::own; };
    const bool only_one = std::count_if(circuit.sources.begin(), circuit.sources.end(), is_own) == 1;
    std::vector<std::vector<std::uint32_t>> nets_of{{circuit.earth}}; // per pole
    for (std::size_t s = 0; s < circuit.sources.size(); ++s)
        for (std::uint32_t p = 0; p < circuit.sources[s].poles.size(); ++p) {
            const Source &source = circuit.sources[s];
            if (p == source.earthed) { // its bond stays
                nets_of[0].push_back(source.poles[p].net);
                of_the_mains_[0] |= only_one && is_own(source);
            } else if (!dead[s]) {
                nets_of.push_back({source.poles[p].net});
                of_the_mains_.push_back(only_one && is_own(source));
            }
        }
    for (std::uint32_t pole = 0; pole < nets_of.size(); ++pole)
        for (const std::uint32_t net : nets_of[pole])
            pole_at_[net] = pole;
    find_pieces(nets_of);
    for (std::uint32_t pole = 0; pole < nets_of.size(); ++pole)
        follow(pole, nets_of[pole]);
}

// To what hangs on one pole alone, in whatever position devices are, no way needs to be followed. What hangs on poles
// by one device's contacts alone has no current but while these are closed: then its nets there are the poles' own.
void FeedingPoles::find_pieces(std::vector<std::vector<std::uint32_t>> &nets_of) {
    on_one_.assign(pole_at_.size(), 0);
    std::vector<std::uint8_t> met(pole_at_.size(), 0);
    for (std::uint32_t first = 0; first < pole_at_.size(); ++first) {
        if (pole_at_[first] != none || met[first])
            continue;
        std::vector<std::uint32_t> piece{first};
        met[first] = 1;
        std::map<std::uint32_t, std::uint32_t> ends; // nets, and the pole that each hangs on
        std::set<std::pair<std::uint32_t, std::uint8_t>> by;
        for (std::size_t k = 0; k < piece.size(); ++k)
            for (const Edge &edge : edges_[piece[k]]) {
                if (edge.variable != none && (positions_[edge.variable] & edge.closed_at) == 0)
                    continue;
                if (const std::uint32_t pole = pole_at_[edge.to]; pole != none) {
                    std::uint32_t &end = ends.try_emplace(piece[k], pole).first->second;
                    end = end == pole ? pole : several;
                    by.emplace(edge.variable, edge.closed_at);
                } else if (!std::exchange(met[edge.to], std::uint8_t{1})) {
                    piece.push_back(edge.to);
                }
            }
        const std::uint32_t hangs_on = ends.empty() ? none : ends.begin()->second;
        const bool on_one = std::all_of(ends.begin(), ends.end(),
                                        [&](const auto &end) { return end.second == hangs_on && hangs_on != several; });
        const bool one_device =
            by.size() == 1 && by.begin()->first != none &&
            std::none_of(ends.begin(), ends.end(), [](const auto &end) { return end.second == several; });
        for (const std::uint32_t net : piece) {
            on_one_[net] = on_one;
            comes_[net] = on_one ? hangs_on : none;
            met[net] = on_one || !one_device;
        }
        if (on_one || !one_device)
            continue;
        for (const auto &[net, pole] : ends) {
            pole_at_[net] = pole;
            nets_of[pole].push_back(net);
        }
        first = *std::min_element(piece.begin(), piece.end()) - 1; // the rest of it anew
    }
}

bool FeedingPoles::nothing_between(std::uint32_t a, std::uint32_t b) const {
    return a == b || comes_[a] == none || comes_[b] == none || (comes_[a] == comes_[b] && comes_[a] != several);
}

std::uint8_t FeedingPoles::left(const Taken &taken, std::uint32_t variable) const {
    const auto at = std::lower_bound(taken.begin(), taken.end(), std::pair{variable, std::uint8_t{0}});
    return at != taken.end() && at->first == variable ? at->second : positions_[variable];
}

bool FeedingPoles::asks_no_more(const Taken &one, const Taken &other) const {
    return std::all_of(one.begin(), one.end(),
                       [&](const auto &each) { return (left(other, each.first) & ~each.second) == 0; });
}

bool FeedingPoles::stands_on_another(const Arrival &arrival, std::uint32_t pole) {
    ++round_;
    std::vector<std::uint32_t> joined{arrival.net};
    mark_[arrival.net] = round_;
    bool on_another = false, on_this = false, shorts = false;
    for (std::size_t k = 0; k < joined.size(); ++k) {
        if (const std::uint32_t here = pole_at_[joined[k]]; here == pole) {
            on_this = true;
        } else if (here != none) {
            on_another = true;
            shorts |= of_the_mains_[here] && of_the_mains_[pole];
        }
        for (const Edge &edge : edges_[joined[k]])
            if (edge.conductor && mark_[edge.to] != round_ &&
                (edge.variable == none || (left(arrival.taken, edge.variable) & ~edge.closed_at) == 0)) {
                mark_[edge.to] = round_;
                joined.push_back(edge.to);
            }
    }
    return on_another && (!on_this || shorts);
}

void FeedingPoles::follow(std::uint32_t pole, std::span<const std::uint32_t> from) {
    std::map<std::uint32_t, std::vector<Taken>> known; // per net
    std::vector<Arrival> ways;
    for (const std::uint32_t net : from)
        ways.push_back({net, {}});
    const auto comes_to = [&](std::uint32_t net) {
        comes_[net] = comes_[net] == none || comes_[net] == pole ? pole : several;
    };
    const auto arrive = [&](Arrival arrival) {
        // Nothing goes on from another pole's node, and no more from its own.
        if (pole_at_[arrival.net] != none || on_one_[arrival.net])
            return;
        std::vector<Taken> &before = known[arrival.net];
        if (std::any_of(before.begin(), before.end(),
                        [&](const Taken &each) { return asks_no_more(each, arrival.taken); }) ||
            stands_on_another(arrival, pole))
            return;
        before.push_back(arrival.taken);
        comes_to(arrival.net);
        ways.push_back(std::move(arrival));
    };
    for (const std::uint32_t net : from)
        comes_to(net);
    for (std::size_t k = 0; k < ways.size(); ++k) {
        if (ways.size() > most_ways) {
            for (std::uint32_t net = 0; net < comes_.size(); ++net)
                if (!on_one_[net])
                    comes_to(net);
            return;
        }
        const Arrival way = ways[k];
        for (const Edge &edge : edges_[way.net]) {
            Arrival next{edge.to, way.taken};
            if (edge.variable != none) {
                const std::uint8_t before = left(way.taken, edge.variable), now = before & edge.closed_at;
                if (now == 0)
                    continue;
                if (now != before) {
                    const auto at = std::lower_bound(next.taken.begin(), next.taken.end(),
                                                     std::pair{edge.variable, std::uint8_t{0}});
                    if (at != next.taken.end() && at->first == edge.variable)
                        at->second = now;
                    else
                        next.taken.insert(at, {edge.variable, now});
                }
            }
            arrive(std::move(next));
        }
    }
}

} // namespace stopspan
