#include "switching/feeding_loads.hpp"

#include <boost/pending/disjoint_sets.hpp>

#include <algorithm>
#include <map>

namespace stopspan {
namespace {

using Sets = boost::disjoint_sets_with_storage<>;

std::uint32_t set_of(Sets &sets, std::uint32_t net) {
    return static_cast<std::uint32_t>(sets.find_set(net));
}

// Two kinds of sets of nets: pieces, which contacts join, all closed and past rails; and pockets, which contacts and
// loads join between rails.
class Finder {
public:
    Finder(const Compiled &circuit, const std::vector<Place> &places)
        : circuit_(circuit), places_(places), pieces_(circuit.net_count), pockets_(circuit.net_count),
          around_(circuit.net_count), returns_to_(circuit.net_count, none) {}

    FeedingLoads find() {
        FeedingLoads found{std::vector<std::uint8_t>(circuit_.impedances.size(), 0),
                           std::vector<std::uint8_t>(circuit_.net_count, 0),
                           {}};
        if (std::find(places_.begin(), places_.end(), Place::rail) == places_.end())
            return found; // everything is followed anyway
        join();
        look_around();
        vote();
        for (std::uint32_t i = 0; i < found.feeds.size(); ++i) {
            const Impedance &load = circuit_.impedances[i];
            if (!may_feed(load))
                continue;
            found.feeds[i] = 1;
            for (const std::uint32_t net : {load.a, load.b}) {
                if (!is(net, Place::root))
                    found.nets.push_back(net);
                if (is(net, Place::inner))
                    around_[set_of(pockets_, net)].feeds = true;
            }
        }
        std::sort(found.nets.begin(), found.nets.end());
        found.nets.erase(std::unique(found.nets.begin(), found.nets.end()), found.nets.end());
        if (!found.nets.empty())
            for (std::uint32_t net = 0; net < circuit_.net_count; ++net)
                found.in_pocket[net] = is(net, Place::inner) && around_[set_of(pockets_, net)].feeds;
        return found;
    }

private:
    // What stands around a pocket: its first two ends are enough to tell whether there are more than two.
    struct Around {
        std::uint32_t first = none, second = none;
        bool more = false, rail = false;
        bool feeds = false;
        std::size_t loads = 0;
        bool between_two() const { return second != none && !more; }
    };

    bool is(std::uint32_t net, Place place) const { return places_[net] == place; }

    void join() {
        const auto inner = [&](std::uint32_t net) { return is(net, Place::inner); };
        for (const Switch &contact : circuit_.switches)
            if (!contact.pole && contact.closed_at != 0) {
                if (!is(contact.a, Place::root) && !is(contact.b, Place::root))
                    pieces_.union_set(contact.a, contact.b);
                if (inner(contact.a) && inner(contact.b))
                    pockets_.union_set(contact.a, contact.b);
            }
        for (const Impedance &load : circuit_.impedances)
            if (inner(load.a) && inner(load.b))
                pockets_.union_set(load.a, load.b);
    }

    void look_around() {
        const auto touch = [&](std::uint32_t net, std::uint32_t end) {
            if (!is(net, Place::inner) || is(end, Place::inner))
                return;
            Around &one = around_[set_of(pockets_, net)];
            one.rail |= is(end, Place::rail);
            if (one.first == none)
                one.first = end;
            else if (one.first != end && one.second == none)
                one.second = end;
            else
                one.more |= one.first != end && one.second != end;
        };
        for (const Switch &contact : circuit_.switches)
            if (contact.closed_at != 0) {
                touch(contact.a, contact.b);
                touch(contact.b, contact.a);
            }
        for (const Impedance &load : circuit_.impedances) {
            touch(load.a, load.b);
            touch(load.b, load.a);
            if (const std::uint32_t net = inner_end(load); net != none)
                ++around_[set_of(pockets_, net)].loads;
        }
    }

    std::uint32_t inner_end(const Impedance &load) const {
        return is(load.a, Place::inner) ? load.a : is(load.b, Place::inner) ? load.b : none;
    }

    // Where most of the loads of each piece return.
    void vote() {
        std::map<std::pair<std::uint32_t, std::uint32_t>, std::size_t> votes; // of pieces for nets
        const auto between = [&](std::uint32_t a, std::uint32_t b, std::size_t count) {
            for (const auto &[net, far] : {std::pair{a, b}, {b, a}})
                if (!is(net, Place::root))
                    votes[{set_of(pieces_, net), far}] += count;
        };
        for (std::uint32_t net = 0; net < circuit_.net_count; ++net)
            if (const Around &one = around_[net]; one.between_two() && one.rail && one.loads > 0)
                between(one.first, one.second, one.loads);
        for (const Impedance &load : circuit_.impedances) {
            const std::uint32_t net = inner_end(load);
            if (net == none)
                between(load.a, load.b, 1);
            else if (const std::uint32_t far = load.a == net ? load.b : load.a;
                     is(far, Place::root) && !(around_[set_of(pockets_, net)].between_two()))
                ++votes[{set_of(pieces_, net), far}];
        }
        std::vector<std::size_t> most(circuit_.net_count, 0);
        for (const auto &[vote, count] : votes)
            if (count > most[vote.first]) {
                most[vote.first] = count;
                returns_to_[vote.first] = vote.second;
            }
    }

    // A rail and the net that its loads return to.
    bool takes(std::uint32_t rail, std::uint32_t back) {
        const std::uint32_t piece = set_of(pieces_, rail);
        if (returns_to_[piece] != back)
            return false;
        if (is(back, Place::root))
            return true;
        const std::uint32_t other = returns_to_[set_of(pieces_, back)]; // a return that may open has none of its own
        return set_of(pieces_, back) != piece && other != none && !is(other, Place::root) &&
               set_of(pieces_, other) == piece;
    }
    bool takes_between(std::uint32_t a, std::uint32_t b) {
        return (is(a, Place::rail) && takes(a, b)) || (is(b, Place::rail) && takes(b, a));
    }

    bool may_feed(const Impedance &load) {
        if (load.a == load.b || (is(load.a, Place::root) && is(load.b, Place::root)))
            return false;
        const std::uint32_t net = inner_end(load);
        if (net == none)
            return !takes_between(load.a, load.b);
        const Around &one = around_[set_of(pockets_, net)];
        if (!one.rail || (one.between_two() && takes_between(one.first, one.second)) || one.second == none)
            return false; // no rail's, or nothing but a rail's
        const std::uint32_t far = load.a == net ? load.b : load.a;
        return !is(far, Place::root) || returns_to_[set_of(pieces_, net)] != far;
    }

    const Compiled &circuit_;
    const std::vector<Place> &places_;
    Sets pieces_, pockets_;
    std::vector<Around> around_;            ///< per pocket, which is one of its nets
    std::vector<std::uint32_t> returns_to_; ///< per piece
};

} // namespace

FeedingLoads feeding_loads(const Compiled &circuit, const std::vector<Place> &places) {
    return Finder(circuit, places).find();
}

} // namespace stopspan
