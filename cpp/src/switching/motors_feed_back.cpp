#include "switching/motors_feed_back.hpp"

#include <boost/pending/disjoint_sets.hpp>

#include <algorithm>
#include <map>
#include <set>
#include <utility>

namespace stopspan {
namespace {

// What lines of different kinds feed through a net between motors hardly differs: after these it is known.
constexpr std::uint8_t most_lines_passed = 8;

// Nets are of one kind when they are live together: through the same positions of the same devices from nets of one
// kind. What is closed for good, fuses too, makes one piece of its nets.
class Kinds {
public:
    explicit Kinds(const Compiled &circuit) : circuit_(circuit), pieces_(circuit.net_count) {
        join();
        find_distances();
        decide();
        meet();
        decide(); // anew, those apart that meet others
    }

    std::uint32_t piece(std::uint32_t net) { return static_cast<std::uint32_t>(pieces_.find_set(net)); }
    bool on_a_source(std::uint32_t piece) const { return distance_[piece] == 0; }
    std::uint32_t of(std::uint32_t piece) const { return kind_[piece]; }
    // Pieces that are one contact nearer to a source.
    const std::vector<std::uint32_t> &nearer(std::uint32_t piece) const { return nearer_[piece]; }
    // Nothing but motors and power poles is at it and at all that it leads to away from the sources.
    bool is_power_only(std::uint32_t start) {
        if (const auto known = power_only_.find(start); known != power_only_.end())
            return known->second;
        return power_only_[start] = finds_power_only(start);
    }
    // It leads to a pole that is not earthed.
    bool may_be_live(std::uint32_t piece) const { return live_[piece] != 0; }
    // Whenever nets of the one kind are live, so are those of the other. True is a proof.
    bool live_with(std::uint32_t other, std::uint32_t one) {
        if (one == none || other == none)
            return false;
        if (other == one || other == live_always)
            return true;
        if (one == live_always)
            return false;
        const auto [known, fresh] = live_with_.try_emplace({other, one}, false);
        if (fresh)
            known->second = std::all_of(ways_[one].begin(), ways_[one].end(), [&](const Way &way) {
                return live_with(other, way.kind) ||
                       std::any_of(ways_[other].begin(), ways_[other].end(), [&](const Way &beside) {
                           return beside.variable == way.variable && beside.closed_at == way.closed_at &&
                                  live_with(beside.kind, way.kind);
                       });
            });
        return known->second;
    }

private:
    // A contact and the kind of nets it leads to: nearer to a source, or none where that is not known.
    struct Way {
        std::uint32_t variable;
        std::uint8_t closed_at;
        std::uint32_t kind;
        auto operator<=>(const Way &) const = default;
    };
    using Ways = std::vector<Way>;
    static constexpr std::uint32_t live_always = 0;

    bool closed_for_good(const Switch &one) const {
        return one.variable == none || circuit_.variables[one.variable].kind == Variable::Kind::fuse;
    }

    bool finds_power_only(std::uint32_t start) {
        std::vector<std::uint32_t> queue{start};
        std::set<std::uint32_t> seen{start};
        for (std::size_t k = 0; k < queue.size(); ++k) {
            if (controlled_[queue[k]])
                return false;
            for (const std::uint32_t i : contacts_[queue[k]])
                if (const std::uint32_t next = far_end(i, queue[k]);
                    distance_[next] >= distance_[queue[k]] && seen.insert(next).second)
                    queue.push_back(next);
        }
        return true;
    }

    void join() {
        for (const Switch &one : circuit_.switches)
            if (closed_for_good(one))
                pieces_.union_set(one.a, one.b);
        contacts_.resize(circuit_.net_count);
        controlled_.assign(circuit_.net_count, 0);
        std::set<std::uint32_t> motors;
        for (const MotorSeen &motor : circuit_.motors)
            motors.insert(motor.device);
        for (const Impedance &load : circuit_.impedances)
            if (!motors.contains(load.device))
                controlled_[piece(load.a)] = controlled_[piece(load.b)] = 1;
        for (const Switch &one : circuit_.switches)
            if (!one.pole)
                controlled_[piece(one.a)] = controlled_[piece(one.b)] = 1;
        for (std::uint32_t i = 0; i < circuit_.switches.size(); ++i) {
            const Switch &one = circuit_.switches[i];
            if (closed_for_good(one) || one.closed_at == 0 || piece(one.a) == piece(one.b))
                continue;
            contacts_[piece(one.a)].push_back(i);
            contacts_[piece(one.b)].push_back(i);
        }
    }

    std::uint32_t far_end(std::uint32_t contact, std::uint32_t from) {
        const std::uint32_t a = piece(circuit_.switches[contact].a);
        return a == from ? piece(circuit_.switches[contact].b) : a;
    }

    void find_distances() {
        distance_.assign(circuit_.net_count, none);
        live_.assign(circuit_.net_count, 0);
        nearer_.resize(circuit_.net_count);
        const auto stands = [&](std::uint32_t net, bool live) {
            const std::uint32_t one = piece(net);
            if (distance_[one] == none)
                order_.push_back(one);
            distance_[one] = 0;
            live_[one] |= live;
        };
        stands(circuit_.earth, false);
        for (const Source &source : circuit_.sources)
            for (std::size_t p = 0; p < source.poles.size(); ++p)
                stands(source.poles[p].net, p != source.earthed);
        for (std::size_t k = 0; k < order_.size(); ++k)
            for (const std::uint32_t i : contacts_[order_[k]]) {
                const std::uint32_t next = far_end(i, order_[k]);
                if (distance_[next] == none) {
                    distance_[next] = distance_[order_[k]] + 1;
                    order_.push_back(next);
                }
                if (distance_[next] == distance_[order_[k]] + 1) {
                    nearer_[next].push_back(order_[k]);
                    live_[next] |= live_[order_[k]];
                }
            }
        apart_.assign(circuit_.net_count, 0);
    }

    void decide() {
        kind_.assign(circuit_.net_count, none);
        ways_.assign(1, {});
        std::map<Ways, std::uint32_t> known;
        for (const std::uint32_t one : order_) {
            if (distance_[one] == 0) {
                kind_[one] = live_always;
                continue;
            }
            Ways ways;
            for (const std::uint32_t i : contacts_[one])
                if (const std::uint32_t next = far_end(i, one); distance_[next] <= distance_[one])
                    ways.push_back({circuit_.switches[i].variable, circuit_.switches[i].closed_at,
                                    distance_[next] == distance_[one] ? none : kind_[next]});
            if (apart_[one]) { // like no other
                ways.push_back({none, 0, none});
                kind_[one] = static_cast<std::uint32_t>(ways_.size());
                ways_.push_back(std::move(ways));
                continue;
            }
            std::sort(ways.begin(), ways.end());
            ways.erase(std::unique(ways.begin(), ways.end()), ways.end());
            const auto [entry, fresh] = known.try_emplace(ways, static_cast<std::uint32_t>(ways_.size()));
            if (fresh)
                ways_.push_back(std::move(ways));
            kind_[one] = entry->second;
        }
    }

    // What leads to nets of different kinds may make the one live from the other.
    void meet() {
        for (const std::uint32_t one : order_)
            if (std::any_of(nearer_[one].begin(), nearer_[one].end(),
                            [&](std::uint32_t next) { return kind_[next] != kind_[nearer_[one][0]]; }))
                for (const std::uint32_t next : nearer_[one])
                    apart_[next] = 1;
    }

    const Compiled &circuit_;
    boost::disjoint_sets_with_storage<> pieces_;
    // Per piece, which is one of its nets.
    std::vector<std::vector<std::uint32_t>> contacts_, nearer_;
    std::vector<std::uint32_t> distance_, kind_;
    std::vector<std::uint8_t> live_, apart_, controlled_;
    std::vector<std::uint32_t> order_; ///< of pieces, the nearest to a source first
    std::vector<Ways> ways_;           ///< per kind
    std::map<std::pair<std::uint32_t, std::uint32_t>, bool> live_with_;
    std::map<std::uint32_t, bool> power_only_;
};

} // namespace

std::vector<std::uint8_t> fed_by_motors(const Compiled &circuit) {
    Kinds kinds(circuit);
    // Per piece.
    std::vector<std::uint8_t> fed(circuit.net_count, 0), climbed(circuit.net_count, 0), passed(circuit.net_count, 0);
    std::vector<std::vector<const MotorSeen *>> motors_at(circuit.net_count);
    std::vector<std::uint32_t> lines;
    for (const MotorSeen &motor : circuit.motors)
        for (const std::uint32_t net : motor.nets) {
            const std::uint32_t piece = kinds.piece(net);
            if (motors_at[piece].empty() && kinds.may_be_live(piece))
                lines.push_back(piece);
            motors_at[piece].push_back(&motor);
        }
    for (const std::uint32_t line : lines) {
        const auto live_with_it = [&](std::uint32_t piece) { return kinds.live_with(kinds.of(piece), kinds.of(line)); };
        std::vector<std::uint32_t> live{line}; // through windings
        std::set<std::uint32_t> met{line};
        for (std::size_t k = 0; k < live.size(); ++k) {
            if (k > 0 && ++passed[live[k]] > most_lines_passed)
                continue;
            for (const MotorSeen *motor : motors_at[live[k]])
                for (const std::uint32_t net : motor->nets) {
                    const std::uint32_t end = kinds.piece(net);
                    if (!met.insert(end).second || live_with_it(end))
                        continue;
                    fed[end] |= !kinds.is_power_only(end);
                    std::vector<std::uint32_t> open; // what the line may feed, then all that is nearer to a source
                    std::copy_if(kinds.nearer(end).begin(), kinds.nearer(end).end(), std::back_inserter(open),
                                 [&](std::uint32_t next) { return !live_with_it(next); });
                    while (!open.empty()) {
                        const std::uint32_t next = open.back();
                        open.pop_back();
                        if (kinds.on_a_source(next) || std::exchange(climbed[next], std::uint8_t{1}))
                            continue;
                        fed[next] = 1;
                        open.insert(open.end(), kinds.nearer(next).begin(), kinds.nearer(next).end());
                    }
                    if (!kinds.on_a_source(end))
                        live.push_back(end);
                }
        }
    }
    std::vector<std::uint8_t> found(circuit.net_count);
    for (std::uint32_t net = 0; net < circuit.net_count; ++net)
        found[net] = fed[kinds.piece(net)];
    return found;
}

} // namespace stopspan
