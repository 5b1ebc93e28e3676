#include "switching/settling.hpp"

#include "switching/relevance.hpp"

#include <boost/graph/adjacency_list.hpp>
#include <boost/graph/strong_components.hpp>

#include <algorithm>
#include <map>
#include <set>
#include <unordered_map>
#include <utility>

namespace stopspan {
namespace {

using namespace coil_limits;

// Past this many armatures that influence each other in one move, subsets of every size would be too many: then
// singles, pairs and all together stand for them.
constexpr std::size_t all_subsets_up_to = 10;

// Few armatures: all orders of all of them, no need to know who influences whom.
constexpr std::size_t few_armatures = 4;

// Where more than this many share their current, as all on a line that is lost, their orders would be too many: they
// count as apart.
constexpr std::size_t most_sharing = 6;

// Past this many they are forgotten, to bound the memory.
constexpr std::size_t most_remembered = 100'000;

enum class Pull { no, may, must };

Pull closing(RatioRange ratio) {
    if (ratio.low >= pulls_in - tolerance)
        return Pull::must;
    return ratio.high >= may_pull_in - tolerance ? Pull::may : Pull::no;
}

} // namespace

std::vector<std::uint8_t> interacting(const Compiled &circuit) {
    const std::size_t count = circuit.armatures.size();
    std::vector<std::uint8_t> interacts(count * count, count <= few_armatures);
    if (count <= few_armatures)
        return interacts;
    const auto influence = armature_influence(circuit); // influence[b]: armatures with a contact in b's coil paths
    for (std::uint32_t b = 0; b < count; ++b)
        for (const std::uint32_t a : influence[b]) {
            interacts[a * count + b] = interacts[b * count + a] = 1;
            for (const std::uint32_t other : influence[b]) // both act on b: their order is seen by b
                interacts[a * count + other] = interacts[other * count + a] = 1;
        }
    return interacts;
}

Settler::Settler(const Compiled &circuit) : circuit_(circuit), network_(circuit), interacts_(interacting(circuit)) {}

bool Settler::inputs_closed(const Armature &stop_relay) {
    return !stop_relay.input_missing &&
           std::all_of(stop_relay.inputs.begin(), stop_relay.inputs.end(),
                       [&](const auto &loop) { return network_.joined(loop.first, loop.second); });
}

// Open, or with volts that may not hold it: of the two, that is what lets the relay come in again.
bool Settler::channel_drops(const Armature &stop_relay, std::size_t channel, const RatioRange &ratio) {
    const auto &[a, b] = stop_relay.inputs[channel];
    return !network_.joined(a, b) || ratio.low < stays_in - tolerance;
}

Settler::Pending Settler::pending(State &state) {
    Pending moves;
    for (std::uint32_t i = 0; i < circuit_.armatures.size(); ++i) {
        const Armature &armature = circuit_.armatures[i];
        const bool in = state[armature.variable] != 0;
        Pull wish = Pull::no;
        bool unknown = false;
        const auto ratio_of = [&](bool tripping_coil) {
            const RatioRange ratio = network_.coil_ratio(i, tripping_coil);
            unknown |= ratio.unknown;
            return ratio;
        };
        switch (armature.kind) {
        case Armature::Kind::coil: {
            const RatioRange ratio = ratio_of(false);
            if (!in)
                wish = closing(ratio);
            else if (ratio.high < (armature.dc_coil ? drops_dc : drops_ac) - tolerance)
                wish = Pull::must;
            else if (ratio.low < stays_in - tolerance)
                wish = Pull::may;
            break;
        }
        case Armature::Kind::latched: {
            const Pull trip = closing(ratio_of(true));
            if (in)
                wish = trip;
            else if (trip != Pull::must) {
                wish = closing(ratio_of(false));
                if (trip == Pull::may && wish == Pull::must)
                    wish = Pull::may;
            }
            break;
        }
        case Armature::Kind::stop_relay: {
            const RatioRange ratio = ratio_of(false);
            const bool inputs = inputs_closed(armature);
            if (in) {
                const double drops = armature.dc_coil ? drops_dc : drops_ac;
                if (!inputs || ratio.high < drops - tolerance)
                    wish = Pull::must;
                else if (ratio.low < stays_in - tolerance)
                    wish = Pull::may;
                for (std::size_t c = 0; c < armature.channels_in.size(); ++c)
                    if (inputs || channel_drops(armature, c, ratio)) // with all closed it is the volts that let it go
                        moves.channels_out.emplace_back(i, armature.channels_in[c]);
            } else {
                const bool feedback = armature.feedback.first == none ||
                                      network_.joined(armature.feedback.first, armature.feedback.second);
                const bool reset =
                    armature.reset.first == none || network_.joined(armature.reset.first, armature.reset.second);
                const bool both_out = std::none_of(armature.channels_in.begin(), armature.channels_in.end(),
                                                   [&](std::uint32_t channel) { return state[channel] != 0; });
                if (inputs && both_out && feedback && reset && (armature.automatic || state[armature.memory] != 0))
                    wish = closing(ratio);
            }
            break;
        }
        case Armature::Kind::welded:
            break;
        case Armature::Kind::monitor: {
            const bool alarm = network_.pole_potential(armature.a1) && !network_.floating(armature.a1);
            if (alarm != in)
                wish = Pull::must;
            break;
        }
        }
        if (wish == Pull::no || circuit_.frozen(armature.variable, state))
            continue;
        if (!in && held_off(armature, state))
            continue;
        (wish == Pull::must ? moves.must : moves.may).push_back(i);
        if (unknown && wish == Pull::may)
            moves.unknown.push_back(i);
    }
    find_shared(moves);
    return moves;
}

// By a mechanical interlock.
bool Settler::held_off(const Armature &armature, const State &state) const {
    return std::any_of(armature.interlocked.begin(), armature.interlocked.end(),
                       [&](std::uint32_t other) { return state[circuit_.armatures[other].variable] != 0; });
}

void Settler::move(State &state, std::uint32_t index, const Pending &moves) const {
    const Armature &armature = circuit_.armatures[index];
    const bool now_in = state[armature.variable] == 0;
    state[armature.variable] = now_in;
    if (now_in)
        for (const std::uint32_t channel : armature.channels_in)
            state[channel] = 1;
    else
        for (const auto &[mover, channel] : moves.channels_out)
            if (mover == index)
                state[channel] = 0;
    if (armature.timed == none)
        return;
    if (armature.off_delay && now_in)
        state[armature.timed] = 1;
    if (!armature.off_delay && !now_in)
        state[armature.timed] = 0;
}

// Coils that take their current through the same leak: when one drops the others get more volts.
void Settler::find_shared(Pending &moves) {
    const std::size_t count = circuit_.armatures.size();
    if (count <= few_armatures || moves.must.size() + moves.may.size() < 2)
        return;
    std::map<std::uint32_t, std::vector<std::uint32_t>> sharing;
    for (const auto *movers : {&moves.must, &moves.may})
        for (const std::uint32_t armature : *movers)
            if (const std::uint32_t piece = network_.shared_piece(armature); piece != none)
                sharing[piece].push_back(armature);
    for (const auto &[piece, armatures] : sharing) {
        if (armatures.size() < 2 || armatures.size() > most_sharing)
            continue;
        moves.piece.resize(count, none);
        for (const std::uint32_t armature : armatures)
            moves.piece[armature] = piece;
    }
}

bool Settler::interact(std::uint32_t a, std::uint32_t b, const Pending &moves) const {
    return interacts_[a * circuit_.armatures.size() + b] || circuit_.armatures[a].excludes(b) ||
           (!moves.piece.empty() && moves.piece[a] != none && moves.piece[a] == moves.piece[b]);
}

bool Settler::independent(const std::vector<std::uint32_t> &armatures, const Pending &moves) const {
    for (std::size_t i = 0; i < armatures.size(); ++i)
        for (std::size_t j = i + 1; j < armatures.size(); ++j)
            if (interact(armatures[i], armatures[j], moves))
                return false;
    return true;
}

// Drives and stop relays remember what they saw once everything is at rest.
void Settler::finish(State &state) {
    for (std::uint32_t i = 0; i < circuit_.armatures.size(); ++i) {
        const Armature &armature = circuit_.armatures[i];
        if (armature.kind != Armature::Kind::stop_relay)
            continue;
        if (armature.reset.first != none)
            state[armature.memory] =
                inputs_closed(armature) && !network_.joined(armature.reset.first, armature.reset.second);
        if (state[armature.variable] != 0)
            continue;
        for (std::size_t c = 0; c < armature.channels_in.size(); ++c)
            if (std::uint8_t &channel = state[armature.channels_in[c]]; channel != 0)
                channel = !channel_drops(armature, c, network_.coil_ratio(i, false));
    }
    for (const MotorSeen &motor : circuit_.motors)
        if (motor.memory != none) {
            std::uint8_t &ready = state[motor.memory];
            const auto closed = [&](const auto &loop) {
                return loop.first == none || network_.joined(loop.first, loop.second);
            };
            bool fed = false;
            for (std::size_t i = 1; i < 3; ++i) {
                const Reading reading = network_.between(motor.nets[0], motor.nets[i]);
                fed |= reading.ideal && reading.volts > 1;
            }
            fed |= network_.between(motor.nets[1], motor.nets[2]).ideal &&
                   network_.between(motor.nets[1], motor.nets[2]).volts > 1;
            if (!fed || !closed(motor.torque_off))
                ready = 0;
            else if (!closed(motor.run))
                ready = 1;
        }
}

void Settler::note_shorts(Settled &result) const {
    for (const std::string &note : network_.shorts())
        if (std::find(result.notes.begin(), result.notes.end(), note) == result.notes.end())
            result.notes.push_back(note);
}

const Settled &Settler::settle(const State &state) {
    if (const auto known = settled_.find(state); known != settled_.end())
        return known->second;
    if (settled_.size() >= most_remembered)
        settled_.clear();
    return settled_.emplace(state, settle_anew(state)).first->second;
}

Settled Settler::settle_anew(State state) {
    Settled result;
    std::vector<State> seen;
    for (;;) {
        if (network_.evaluate(state)) {
            result.shorted = true;
            note_shorts(result);
        }
        Pending moves = pending(state);
        if (moves.must.empty() && moves.may.empty()) {
            finish(state);
            result.sure.push_back(state);
            result.ends.push_back(std::move(state));
            return result;
        }
        if (!moves.may.empty() || !independent(moves.must, moves)) {
            all_orders(std::move(state), result);
            return result;
        }
        if (const auto again = std::find(seen.begin(), seen.end(), state); seen.size() > 2 && again != seen.end()) {
            result.chatter = true;
            result.moved = moves.must;
            result.ends.assign(again, seen.end());
            std::sort(result.ends.begin(), result.ends.end());
            result.ends.erase(std::unique(result.ends.begin(), result.ends.end()), result.ends.end());
            return result;
        }
        seen.push_back(state);
        if (seen.size() > 1)
            result.passed.push_back(state);
        for (const std::uint32_t armature : moves.must)
            move(state, armature, moves);
    }
}

// Sets of armatures that may move as one step.
std::vector<std::vector<std::uint32_t>> Settler::steps(const Pending &moves, bool must_only) const {
    std::vector<std::uint32_t> all = moves.must;
    if (!must_only)
        all.insert(all.end(), moves.may.begin(), moves.may.end());
    // Those that act on no other pending one go first, together with nobody: they commute.
    std::vector<std::vector<std::uint32_t>> classes;
    std::vector<std::uint8_t> placed(all.size(), 0);
    for (std::size_t i = 0; i < all.size(); ++i) {
        if (placed[i])
            continue;
        placed[i] = 1;
        std::vector<std::uint32_t> one{all[i]};
        for (std::size_t k = 0; k < one.size(); ++k)
            for (std::size_t j = 0; j < all.size(); ++j)
                if (!placed[j] && interact(one[k], all[j], moves)) {
                    placed[j] = 1;
                    one.push_back(all[j]);
                }
        classes.push_back(std::move(one));
    }
    // One class at a time: the others keep their turn. A class of one that must move is taken first.
    std::stable_sort(classes.begin(), classes.end(), [](const auto &a, const auto &b) { return a.size() < b.size(); });
    const auto forced = std::find_if(classes.begin(), classes.end(), [&](const auto &one) {
        return one.size() == 1 && std::find(moves.must.begin(), moves.must.end(), one[0]) != moves.must.end();
    });
    if (forced != classes.end())
        return {*forced};
    const bool any_must = !moves.must.empty();
    std::vector<std::vector<std::uint32_t>> result;
    for (const auto &members : classes) {
        std::vector<std::vector<std::uint32_t>> subsets;
        if (members.size() <= all_subsets_up_to) {
            for (std::uint32_t bits = 1; bits < (1U << members.size()); ++bits) {
                std::vector<std::uint32_t> subset;
                for (std::size_t i = 0; i < members.size(); ++i)
                    if (bits >> i & 1)
                        subset.push_back(members[i]);
                subsets.push_back(std::move(subset));
            }
        } else {
            for (std::size_t i = 0; i < members.size(); ++i) {
                subsets.push_back({members[i]});
                for (std::size_t j = i + 1; j < members.size(); ++j)
                    subsets.push_back({members[i], members[j]});
            }
            subsets.push_back(members);
        }
        for (auto &subset : subsets) {
            bool possible = true;
            for (const std::uint32_t a : subset)
                for (const std::uint32_t b : subset)
                    possible &= !circuit_.armatures[a].excludes(b);
            if (possible)
                result.push_back(std::move(subset));
        }
        // Classes without a move that must be made may wait for ever, so they never stand for the others.
        const bool has_must = std::any_of(members.begin(), members.end(), [&](std::uint32_t a) {
            return std::find(moves.must.begin(), moves.must.end(), a) != moves.must.end();
        });
        if (any_must && has_must && moves.may.empty())
            break;
    }
    return result;
}

void Settler::all_orders(State start, Settled &result) {
    struct Node {
        State state;
        Pending moves;
        std::vector<std::uint32_t> next, must_next;
        std::vector<std::pair<std::uint32_t, std::uint32_t>> single_next; // one that must move alone: where to, and it
        std::vector<std::pair<std::uint32_t, bool>> by_one; // one armature alone: where to, and whether that shorts
    };
    std::vector<Node> nodes;
    std::map<State, std::uint32_t> known;
    bool shorts = false, any_shorts = false;
    const auto visit = [&](State state) {
        shorts = network_.evaluate(state);
        any_shorts |= shorts;
        if (shorts)
            note_shorts(result);
        if (const auto found = known.find(state); found != known.end())
            return found->second;
        const auto index = static_cast<std::uint32_t>(nodes.size());
        known.emplace(state, index);
        nodes.push_back({state, pending(state), {}, {}, {}, {}});
        return index;
    };
    const auto at_rest = [&](State state) {
        network_.evaluate(state);
        finish(state);
        return state;
    };
    visit(std::move(start));
    result.shorted |= shorts;
    std::vector<State> resting;
    for (std::uint32_t i = 0; i < nodes.size(); ++i) {
        if (nodes[i].moves.must.empty())
            resting.push_back(at_rest(nodes[i].state));
        const Pending moves = nodes[i].moves;
        if (!moves.unknown.empty()) {
            std::vector<std::uint32_t> movers = moves.must;
            movers.insert(movers.end(), moves.unknown.begin(), moves.unknown.end());
            result.unknown = true;
            result.race_unknown |= !independent(movers, moves);
        }
        const auto follow = [&](bool must_only) {
            for (const auto &step : steps(moves, must_only)) {
                State state = nodes[i].state;
                for (const std::uint32_t armature : step)
                    move(state, armature, moves);
                const std::uint32_t to = visit(std::move(state));
                nodes[i].next.push_back(to);
                if (step.size() == 1)
                    nodes[i].by_one.emplace_back(to, shorts);
                if (must_only) {
                    nodes[i].must_next.push_back(to);
                    if (step.size() == 1)
                        nodes[i].single_next.emplace_back(to, step[0]);
                }
            }
        };
        if (!moves.must.empty())
            follow(true);
        if (!moves.may.empty())
            follow(false);
    }
    std::sort(resting.begin(), resting.end());
    resting.erase(std::unique(resting.begin(), resting.end()), resting.end());
    result.ends = std::move(resting);
    std::vector<std::uint32_t> singly{0};
    std::vector<std::uint8_t> met_singly(nodes.size(), 0);
    met_singly[0] = 1;
    for (std::size_t k = 0; k < singly.size(); ++k)
        for (const auto &[to, shorted] : nodes[singly[k]].by_one) {
            result.shorted |= shorted;
            if (!std::exchange(met_singly[to], std::uint8_t{1}))
                singly.push_back(to);
        }
    for (std::size_t i = 0; i < nodes.size(); ++i)
        (met_singly[i] ? result.passed : result.passed_jointly).push_back(nodes[i].state);
    if (any_shorts && !result.shorted)
        result.shorted = result.shorted_jointly = true;

    // Races and chatter are judged by the moves that must be made.
    std::vector<std::uint32_t> reached{0};
    std::vector<std::uint8_t> in_reach(nodes.size(), 0);
    in_reach[0] = 1;
    for (std::size_t k = 0; k < reached.size(); ++k) {
        const Node &node = nodes[reached[k]];
        if (node.moves.must.empty())
            result.sure.push_back(at_rest(node.state));
        for (const std::uint32_t to : node.must_next)
            if (!std::exchange(in_reach[to], std::uint8_t{1}))
                reached.push_back(to);
    }
    std::sort(result.sure.begin(), result.sure.end());
    const auto note_mover = [&](std::uint32_t armature) {
        if (std::find(result.moved.begin(), result.moved.end(), armature) == result.moved.end())
            result.moved.push_back(armature);
    };
    if (result.sure.size() >= 2) {
        result.race = true;
        for (const std::uint32_t index : reached)
            for (const std::uint32_t armature : nodes[index].moves.must)
                note_mover(armature);
    }
    // Cycles of single moves: one armature by itself buzzes, several take each other's feed in turn.
    boost::adjacency_list<boost::vecS, boost::vecS, boost::directedS> single(nodes.size());
    for (const std::uint32_t from : reached)
        for (const auto &[to, mover] : nodes[from].single_next)
            boost::add_edge(from, to, single);
    std::vector<std::uint32_t> part(nodes.size());
    boost::strong_components(single, boost::make_iterator_property_map(part.begin(), get(boost::vertex_index, single)));
    std::map<std::uint32_t, std::set<std::uint32_t>> cycling; // what moves in each part that can be gone round
    for (const std::uint32_t from : reached)
        for (const auto &[to, mover] : nodes[from].single_next)
            if (part[from] == part[to])
                cycling[part[from]].insert(mover);
    result.chatter |= !cycling.empty() || result.sure.empty();
    for (const auto &[unused, movers] : cycling) {
        std::for_each(movers.begin(), movers.end(), note_mover);
        result.race |= movers.size() >= 2;
    }
    if (result.ends.empty()) { // nothing ever rests: it is met in what it goes round for ever
        boost::adjacency_list<boost::vecS, boost::vecS, boost::directedS> every(nodes.size());
        for (std::uint32_t from = 0; from < nodes.size(); ++from)
            for (const std::uint32_t to : nodes[from].next)
                boost::add_edge(from, to, every);
        const int parts = boost::strong_components(
            every, boost::make_iterator_property_map(part.begin(), get(boost::vertex_index, every)));
        std::vector<std::vector<std::uint32_t>> members(static_cast<std::size_t>(parts));
        for (std::uint32_t i = 0; i < nodes.size(); ++i)
            members[part[i]].push_back(i);
        // One that must move wherever it goes round, and never does there, moves some time.
        const auto is_left = [&](const std::vector<std::uint32_t> &round) {
            const std::vector<std::uint32_t> &must = nodes[round[0]].moves.must;
            return std::any_of(must.begin(), must.end(), [&](std::uint32_t armature) {
                const std::uint32_t variable = circuit_.armatures[armature].variable;
                return std::all_of(round.begin(), round.end(), [&](std::uint32_t i) {
                    const auto &here = nodes[i].moves.must;
                    return nodes[i].state[variable] == nodes[round[0]].state[variable] &&
                           std::find(here.begin(), here.end(), armature) != here.end();
                });
            });
        };
        for (const auto &round : members)
            if (!is_left(round))
                for (const std::uint32_t i : round)
                    result.ends.push_back(nodes[i].state);
        std::sort(result.ends.begin(), result.ends.end());
    }
}

} // namespace stopspan
