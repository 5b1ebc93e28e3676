#include "switching/contact_states.hpp"

#include "switching/settling.hpp"

#include <algorithm>
#include <bit>
#include <numeric>

namespace stopspan {
namespace {

// A net with more contacts is a rail: what stands beyond it is no neighbour.
constexpr std::size_t most_beside = 6;

} // namespace

std::optional<ContactStates> ContactStates::of(const Cone &cone, Diagrams &diagrams) {
    ContactStates states(cone, diagrams);
    if (!states.take_variables(cone) || !states.take_poles())
        return std::nullopt;
    states.find_pieces();
    states.find_ways();
    for (std::uint32_t s = 0; s < cone.circuit.sources.size(); ++s)
        if (!states.feed(s))
            return std::nullopt;
    if (!states.feed_armatures())
        return std::nullopt;
    return states;
}

bool ContactStates::take_variables(const Cone &cone) {
    const std::size_t count = circuit_.variables.size();
    positions_.assign(count, {0, 1});
    moves_.assign(count, 0);
    for (const Armature &armature : circuit_.armatures) {
        if (armature.kind != Armature::Kind::coil)
            return false;
        for (const std::uint32_t variable : {armature.variable, armature.timed})
            if (variable != none)
                moves_[variable] = 1;
    }
    for (std::uint32_t v = 0; v < count; ++v)
        switch (circuit_.variables[v].kind) {
        case Variable::Kind::memory:
            return false;
        case Variable::Kind::armature:
        case Variable::Kind::timed:
            if (moves_[v] == 0)
                return false;
            break;
        default:
            if (cone.actors[v].changes_over || cone.actors[v].early_make)
                return false;
        }
    for (const Source &source : circuit_.sources) {
        auto &positions = positions_[source.variable];
        const std::uint8_t whole = lost_mask(source);
        positions = {0, whole};
        if ((whole & (whole - 1)) != 0 && source.feed == Source::Feed::own)
            for (std::uint32_t p = 0; p < source.poles.size(); ++p)
                if (p != source.earthed)
                    positions.push_back(static_cast<std::uint8_t>(1U << p));
    }
    order_variables();
    first_level_.assign(count, 0);
    for (const std::uint32_t v : order_) {
        first_level_[v] = levels_;
        levels_ += moves_[v] != 0 ? 3U : bits_of(v);
        if (moves_[v] != 0)
            moving_.push_back(v);
    }
    return true;
}

// What stands in the rung of an armature comes beside it, what all share before them all.
void ContactStates::order_variables() {
    std::vector<std::vector<std::uint32_t>> contacts(circuit_.net_count);
    for (std::uint32_t i = 0; i < circuit_.switches.size(); ++i)
        for (const std::uint32_t net : {circuit_.switches[i].a, circuit_.switches[i].b})
            contacts[net].push_back(i);
    std::vector<std::uint8_t> placed(circuit_.variables.size(), 0);
    std::vector<std::uint32_t> beside;
    const auto place = [&](std::uint32_t variable) {
        if (variable != none && std::exchange(placed[variable], std::uint8_t{1}) == 0)
            beside.push_back(variable);
    };
    for (const Armature &armature : circuit_.armatures) {
        place(armature.variable);
        place(armature.timed);
        std::vector<std::uint32_t> nets{armature.a1, armature.a2};
        for (std::size_t k = 0; k < nets.size(); ++k)
            if (contacts[nets[k]].size() <= most_beside)
                for (const std::uint32_t i : contacts[nets[k]]) {
                    const Switch &one = circuit_.switches[i];
                    if (one.variable != none && moves_[one.variable] == 0)
                        place(one.variable);
                    for (const std::uint32_t net : {one.a, one.b})
                        if (std::find(nets.begin(), nets.end(), net) == nets.end())
                            nets.push_back(net);
                }
    }
    for (std::uint32_t v = 0; v < placed.size(); ++v)
        if (placed[v] == 0)
            order_.push_back(v);
    order_.insert(order_.end(), beside.begin(), beside.end());
}

bool ContactStates::take_poles() {
    at_net_.assign(circuit_.net_count, none);
    poles_.push_back({circuit_.earth, none, none, {}, Diagrams::everything});
    at_net_[circuit_.earth] = 0;
    for (std::uint32_t s = 0; s < circuit_.sources.size(); ++s) {
        const Source &source = circuit_.sources[s];
        for (std::uint32_t p = 0; p < source.poles.size(); ++p) {
            Pole pole{source.poles[p].net, s, source.earthed == none ? s : none, source.poles[p].volts,
                      Diagrams::everything};
            if (p == source.earthed)
                pole.source = none;
            if (const Pole *there = pole_at(pole.net)) {
                if (there->source != none || pole.source != none || !there->same(pole))
                    return false; // two sources on one net
                continue;
            }
            at_net_[pole.net] = static_cast<std::uint32_t>(poles_.size());
            poles_.push_back(pole);
        }
    }
    return true;
}

ContactStates::Set ContactStates::closed(const Switch &contact) const {
    if (contact.variable == none)
        return contact.closed_at == 0 ? Diagrams::nothing : Diagrams::everything;
    Set set = Diagrams::nothing;
    for (const std::uint8_t position : positions_[contact.variable])
        if (contact.closed_at >> position & 1)
            set = diagrams_.either(set, at(contact.variable, position));
    return set;
}

// Nets that contacts can join, poles aside.
void ContactStates::find_pieces() {
    piece_.resize(circuit_.net_count);
    std::iota(piece_.begin(), piece_.end(), 0U);
    const auto root = [&](std::uint32_t net) {
        while (piece_[net] != net)
            net = piece_[net];
        return net;
    };
    for (const Switch &contact : circuit_.switches)
        if (contact.closed_at != 0 && !pole_at(contact.a) && !pole_at(contact.b))
            piece_[root(contact.a)] = root(contact.b);
    for (std::uint32_t net = 0; net < circuit_.net_count; ++net)
        piece_[net] = root(net);
}

void ContactStates::find_ways() {
    std::vector<std::vector<std::pair<std::uint32_t, Set>>> contacts(circuit_.net_count); // where to, and when
    for (const Switch &contact : circuit_.switches)
        if (const Set when = closed(contact); when != Diagrams::nothing && contact.a != contact.b) {
            contacts[contact.a].emplace_back(contact.b, when);
            contacts[contact.b].emplace_back(contact.a, when);
        }
    for (const Pole &pole : poles_) {
        std::vector<Set> &way = way_.emplace_back(circuit_.net_count, Diagrams::nothing);
        way[pole.net] = Diagrams::everything;
        std::vector<std::uint32_t> queue{pole.net};
        for (std::size_t k = 0; k < queue.size(); ++k) {
            const std::uint32_t from = queue[k];
            if (pole_at(from) && from != pole.net)
                continue;
            for (const auto &[to, when] : contacts[from]) {
                const Set wider = diagrams_.either(way[to], diagrams_.both(way[from], when));
                if (wider == way[to])
                    continue;
                way[to] = wider;
                if (std::find(queue.begin() + static_cast<std::ptrdiff_t>(k) + 1, queue.end(), to) == queue.end())
                    queue.push_back(to);
            }
        }
        for (const Pole &other : poles_)
            if (!other.same(pole))
                shorted_ = diagrams_.either(shorted_, way[other.net]);
    }
}

// What hangs on the piece of a net has all of the volts of one pole or none, wherever else its loads lead.
bool ContactStates::loads_lead_to(const Pole &back, std::uint32_t net) const {
    const auto stands_here = [&](std::uint32_t at) { return !pole_at(at) && piece_[at] == piece_[net]; };
    // Nor does something outside that is not known join it to anything.
    for (const auto &link : circuit_.unknown_links)
        if (std::any_of(link.begin(), link.end(), stands_here))
            return false;
    return std::all_of(circuit_.impedances.begin(), circuit_.impedances.end(), [&](const Impedance &load) {
        for (const auto &[here, there] : {std::pair{load.a, load.b}, {load.b, load.a}})
            if (stands_here(here) && (!pole_at(there) || !pole_at(there)->same(back)))
                return false;
        return true;
    });
}

// States in which these many volts stand between two nets; null where it can be something in between.
std::optional<ContactStates::Set> ContactStates::given(std::uint32_t a, std::uint32_t b, double least_v,
                                                       double most_v) {
    if (a == none || b == none)
        return std::nullopt;
    if (pole_at(a))
        std::swap(a, b);
    const Pole *back = pole_at(b);
    if (!back)
        return std::nullopt;
    const bool stays = back->source == none;
    if (!pole_at(a) && !loads_lead_to(*back, a))
        return std::nullopt;
    Set given = Diagrams::nothing;
    for (std::size_t p = 0; p < poles_.size(); ++p) {
        const Pole &pole = poles_[p];
        if (way_[p][a] == Diagrams::nothing || (pole_at(a) && pole_at(a) != &pole) || pole.same(*back))
            continue;
        // Both go together where they are the only two poles of a source.
        const bool together =
            pole.source != none && pole.source == back->source && circuit_.sources[pole.source].poles.size() == 2;
        if (pole.group != back->group || !(stays || together))
            return std::nullopt;
        const double volts = (pole.volts - back->volts).rms();
        if (volts < least_v)
            continue;
        if (volts < most_v)
            return std::nullopt;
        given = diagrams_.either(given, diagrams_.both(way_[p][a], pole.alive));
    }
    return given;
}

bool ContactStates::feed(std::uint32_t s) {
    if (fed_sources_.empty())
        fed_sources_.assign(circuit_.sources.size(), 0);
    if (std::exchange(fed_sources_[s], std::uint8_t{1}) != 0)
        return true;
    const Source &source = circuit_.sources[s];
    Set fed = Diagrams::everything;
    if (source.feed != Source::Feed::own) {
        for (const Source &other : circuit_.sources) // a supply may live from another
            if (other.feed != Source::Feed::own && &other != &source)
                for (const Source::Pole &pole : other.poles)
                    for (const std::uint32_t net : {source.feed_a, source.feed_b})
                        if (net != none && at_net_[pole.net] != none && way_[at_net_[pole.net]][net] != 0)
                            return false;
        const double least_v = source.feed == Source::Feed::transformer ? 0.999 * source.primary_v : feed_threshold;
        const auto alive = given(source.feed_a, source.feed_b, 1e-3, least_v);
        if (!alive)
            return false;
        fed = *alive;
    }
    for (std::uint32_t p = 0; p < source.poles.size(); ++p)
        for (Pole &pole : poles_)
            if (pole.net == source.poles[p].net && pole.source == s) {
                Set whole = Diagrams::everything;
                for (const std::uint8_t position : positions_[source.variable])
                    if (position >> p & 1)
                        whole = diagrams_.without(whole, at(source.variable, position));
                pole.alive = diagrams_.both(whole, fed);
            }
    return true;
}

bool ContactStates::feed_armatures() {
    // What has the one pulls in, what has less than the other drops; in between contacts alone do not decide.
    for (const Armature &armature : circuit_.armatures) {
        const auto fed = given(armature.a1, armature.a2, coil_limits::drops_dc * armature.rated_v,
                               (coil_limits::pulls_in - coil_limits::tolerance) * armature.rated_v);
        if (!fed)
            return false;
        fed_.push_back(*fed);
    }
    return true;
}

std::uint32_t ContactStates::bits_of(std::uint32_t variable) const {
    return static_cast<std::uint32_t>(std::bit_width(positions_[variable].size() - 1));
}

ContactStates::Set ContactStates::at(std::uint32_t variable, std::uint8_t position, Copy copy) const {
    const auto &positions = positions_[variable];
    const auto place =
        static_cast<std::size_t>(std::find(positions.begin(), positions.end(), position) - positions.begin());
    if (place == positions.size())
        return Diagrams::nothing;
    Set set = Diagrams::everything;
    for (std::uint32_t b = 0; b < bits_of(variable); ++b) {
        const Set bit = diagrams_.bit(level(variable, b, copy));
        set = diagrams_.both(set, (place >> b & 1) != 0 ? bit : diagrams_.negation(bit));
    }
    return set;
}

ContactStates::Set ContactStates::bits(std::uint32_t variable, Copy copy) const {
    Set set = Diagrams::everything;
    for (std::uint32_t b = 0; b < bits_of(variable); ++b)
        set = diagrams_.both(set, diagrams_.bit(level(variable, b, copy)));
    return set;
}

std::vector<std::uint32_t> ContactStates::renaming(Copy from, Copy to) const {
    std::vector<std::uint32_t> levels(levels_);
    std::iota(levels.begin(), levels.end(), 0U);
    for (const std::uint32_t variable : moving_)
        levels[first_level_[variable] + from] = first_level_[variable] + to;
    return levels;
}

State ContactStates::state_of(const std::vector<std::uint8_t> &bits, Copy copy) const {
    State state(positions_.size(), 0);
    for (std::uint32_t v = 0; v < state.size(); ++v) {
        std::size_t place = 0;
        for (std::uint32_t b = 0; b < bits_of(v); ++b)
            place |= static_cast<std::size_t>(bits[level(v, b, copy)] != 0) << b;
        state[v] = positions_[v][place];
    }
    return state;
}

ContactStates::Set ContactStates::only(const State &state, Copy copy) const {
    Set set = Diagrams::everything;
    for (std::uint32_t v = 0; v < state.size(); ++v)
        set = diagrams_.both(set, at(v, state[v], copy));
    return set;
}

} // namespace stopspan
