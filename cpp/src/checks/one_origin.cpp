#include "checks/machine_check.hpp"

#include "base/words.hpp"
#include "checks/owners.hpp"

#include <boost/pending/disjoint_sets.hpp>

#include <algorithm>

namespace stopspan {
namespace {

const std::string one_origin_rule = "one-origin";

constexpr Order order_of_returns{1, none, 0}; // between what joins sources and boxes with several feeds

class OneOrigin {
public:
    OneOrigin(Tools &tools, std::vector<ContactFed> *stops)
        : context_(tools.context), compiled_(context_.compiled), stops_(stops),
          owners_(owners_of_nets(context_.circuit, compiled_)) {
        pole_at_.resize(compiled_.net_count);
        for (std::uint32_t s = 0; s < compiled_.sources.size(); ++s)
            for (std::uint32_t p = 0; p < compiled_.sources[s].poles.size(); ++p)
                pole_at_[compiled_.sources[s].poles[p].net].push_back({s, p});
    }

    Decided decide() {
        find_pieces();
        for (const Piece &piece : pieces_)
            decide_piece(piece);
        tell_joined_for_ever();
        decided_.indivisible |= !decided_.findings.empty(); // sources of several parts
        decide_returns();
        note_boxes();
        return std::move(decided_);
    }

private:
    struct Pole {
        std::uint32_t source, pole;
        auto operator<=>(const Pole &) const = default;
    };
    /// Nets that contacts, all closed, join; no source stands on them.
    struct Piece {
        std::vector<std::uint32_t> nets, contacts;
        std::set<std::uint32_t> pole_nets; ///< that contacts join it to
    };

    void find_pieces() {
        piece_of_.assign(compiled_.net_count, none);
        for (std::uint32_t start = 0; start < compiled_.net_count; ++start) {
            if (piece_of_[start] != none || context_.relevance.is_pole_net(start))
                continue;
            const auto number = static_cast<std::uint32_t>(pieces_.size());
            Piece piece;
            piece.nets.push_back(start);
            piece_of_[start] = number;
            for (std::size_t k = 0; k < piece.nets.size(); ++k)
                for (const std::uint32_t i : context_.lookup.switches_at[piece.nets[k]]) {
                    const Switch &contact = compiled_.switches[i];
                    const std::uint32_t far = contact.a == piece.nets[k] ? contact.b : contact.a;
                    if (contact.closed_at == 0)
                        continue;
                    piece.contacts.push_back(i);
                    if (context_.relevance.is_pole_net(far)) {
                        piece.pole_nets.insert(far);
                    } else if (piece_of_[far] == none) {
                        piece_of_[far] = number;
                        piece.nets.push_back(far);
                    }
                }
            pieces_.push_back(std::move(piece));
        }
        // A contact straight between two poles belongs to no net of a piece; those of one device are looked at
        // together.
        std::map<std::uint32_t, Piece> straight;
        for (std::uint32_t i = 0; i < compiled_.switches.size(); ++i) {
            const Switch &contact = compiled_.switches[i];
            if (contact.closed_at == 0 || !context_.relevance.is_pole_net(contact.a) ||
                !context_.relevance.is_pole_net(contact.b) || same_source(contact.a, contact.b))
                continue;
            Piece &piece = straight[contact.device];
            piece.contacts.push_back(i);
            piece.pole_nets.insert({contact.a, contact.b});
        }
        for (auto &[device, piece] : straight)
            pieces_.push_back(std::move(piece));
    }

    std::string text_of(std::uint32_t net) const {
        std::vector<std::string> poles;
        for (const Pole &each : pole_at_[net])
            poles.push_back(compiled_.device_names[compiled_.sources[each.source].device] + ":" +
                            compiled_.sources[each.source].poles[each.pole].name);
        return poles.empty() ? compiled_.net_names[net] : listed(poles);
    }

    // What lies on ways between poles: nets that lead nowhere else are taken off, one by one.
    std::vector<std::uint32_t> between_poles(const Piece &piece) const {
        std::map<std::uint32_t, std::size_t> ends;
        for (const std::uint32_t i : piece.contacts)
            if (const Switch &contact = compiled_.switches[i]; contact.a != contact.b)
                for (const std::uint32_t net : {contact.a, contact.b})
                    ++ends[net]; // a contact between two nets of the piece is listed from either
        for (const std::uint32_t i : piece.contacts)
            if (const Switch &contact = compiled_.switches[i];
                contact.a != contact.b && piece.pole_nets.count(contact.a) + piece.pole_nets.count(contact.b) > 0)
                for (const std::uint32_t net : {contact.a, contact.b})
                    ++ends[net]; // one that leads to a pole only once
        std::vector<std::uint32_t> leaves;
        for (const auto &[net, number] : ends)
            if (number <= 2 && !piece.pole_nets.contains(net))
                leaves.push_back(net);
        for (std::size_t k = 0; k < leaves.size(); ++k)
            for (const std::uint32_t i : context_.lookup.switches_at[leaves[k]]) {
                const Switch &contact = compiled_.switches[i];
                const std::uint32_t far = contact.a == leaves[k] ? contact.b : contact.a;
                if (contact.closed_at == 0 || contact.a == contact.b || piece.pole_nets.contains(far))
                    continue;
                std::size_t &left = ends[far];
                left -= std::min<std::size_t>(left, 2);
                if (left == 2)
                    leaves.push_back(far);
            }
        std::vector<std::uint32_t> core;
        for (const std::uint32_t net : piece.nets)
            if (std::find(leaves.begin(), leaves.end(), net) == leaves.end())
                core.push_back(net);
        return core;
    }

    bool of_several_sources(const Piece &piece) const {
        std::set<std::uint32_t> sources;
        for (const std::uint32_t net : piece.pole_nets)
            for (const Pole &each : pole_at_[net])
                sources.insert(each.source);
        return sources.size() > 1;
    }

    // Two sources may share a return; on two nets they feed each other, one while the other is isolated.
    void tell_joined_for_ever() {
        std::map<std::pair<std::uint32_t, std::uint32_t>, std::set<std::uint32_t>> at; // two nets: sources
        for (std::uint32_t s = 0; s < compiled_.sources.size(); ++s)
            for (const Source::Pole &one : compiled_.sources[s].poles)
                for (const Source::Pole &other : compiled_.sources[s].poles)
                    if (one.net < other.net)
                        at[{one.net, other.net}].insert(s);
        decided_.device = none;
        std::set<std::set<std::uint32_t>> told;
        for (const auto &[nets, sources] : at)
            if (sources.size() > 1 && told.insert(sources).second)
                decided_.add({.rule = one_origin_rule,
                              .status = Status::fails,
                              .subjects = {text_of(nets.first), text_of(nets.second)},
                              .text = "Wires join " + text_of(nets.first) + ", and " + text_of(nets.second) +
                                      ": each feeds the other."});
    }

    // Poles of two sources on the nets of one piece: perhaps at different times only. Two lines of one source on a net
    // are a short, which interlock-holds tells.
    void decide_piece(const Piece &piece) {
        if (piece.pole_nets.empty())
            return;
        decided_.device = owner_of(piece);
        decided_.indivisible |= decided_.device == none;
        if (!of_several_sources(piece)) {
            decided_.count(one_origin_rule, "holds", piece.nets.size());
            return;
        }
        Seeds seeds;
        if (piece.nets.empty())
            seeds.contacts = piece.contacts;
        else
            seeds.nets = between_poles(piece);
        const Reach reach = reach_of(compiled_, context_.relevance, seeds, Extent::feed);
        const Cone cone = cut_cone(context_.circuit, compiled_, context_.relevance, reach, Simplify::joined);
        Exploration exploration(cone);
        // What first joins each pair of poles, and how to get there.
        std::map<std::pair<std::uint32_t, std::uint32_t>, std::vector<std::string>> joined;
        const auto look = [&](const State &state, std::uint32_t from, std::uint32_t act) {
            boost::disjoint_sets_with_storage<> closed(cone.circuit.net_count);
            for (const Switch &contact : cone.circuit.switches)
                if (contact.closed(state))
                    closed.union_set(contact.a, contact.b);
            for (auto a = piece.pole_nets.begin(); a != piece.pole_nets.end(); ++a)
                for (auto b = std::next(a); b != piece.pole_nets.end(); ++b)
                    if (!joined.contains({*a, *b}) && !same_source(*a, *b) && cone.net_of[*a] != none &&
                        cone.net_of[*b] != none && closed.find_set(cone.net_of[*a]) == closed.find_set(cone.net_of[*b]))
                        joined[{*a, *b}] = exploration.acts_to(from, act);
        };
        const bool complete = exploration.run(context_.options.state_budget, [&](const Exploration::Transition &t) {
            const Act &act = exploration.acts()[t.act];
            State moved = exploration.nodes()[t.from].state;
            if (act.variable != none && !act.to.empty())
                moved[act.variable] = act.to.back();
            look(moved, t.from, t.act);
            for (const State &passed : t.settled.passed)
                look(passed, t.from, t.act);
            for (const State &end : t.settled.ends)
                look(end, t.from, t.act);
        });
        for (const auto &[pair, acts] : joined)
            decided_.add({.rule = one_origin_rule,
                          .status = Status::fails,
                          .subjects = {text_of(pair.first), text_of(pair.second)},
                          .text = "Contacts join " + text_of(pair.first) + " and " + text_of(pair.second) + " on " +
                                  place(piece) + ".",
                          .witness = {acts, {}, text_of(pair.first) + " and " + text_of(pair.second) + " joined"}});
        if (!joined.empty())
            return;
        if (complete)
            decided_.count(one_origin_rule, "holds", std::max<std::size_t>(1, piece.nets.size()));
        else
            decided_.add({.rule = one_origin_rule,
                          .status = Status::undecided,
                          .subjects = {},
                          .text = "Not decided whether contacts ever join two poles on " + place(piece) + "."});
    }

    std::uint32_t owner_of(const Piece &piece) const {
        const auto owned =
            std::find_if(piece.nets.begin(), piece.nets.end(), [&](std::uint32_t net) { return owners_[net] != none; });
        return owned == piece.nets.end() ? none : owners_[*owned];
    }

    bool same_source(std::uint32_t a, std::uint32_t b) const {
        return std::any_of(pole_at_[a].begin(), pole_at_[a].end(), [&](const Pole &one) {
            return std::any_of(pole_at_[b].begin(), pole_at_[b].end(),
                               [&](const Pole &other) { return one.source == other.source; });
        });
    }

    std::string place(const Piece &piece) const {
        return piece.nets.empty() ? compiled_.device_names[compiled_.switches[piece.contacts[0]].device]
                                  : names(piece.nets);
    }

    std::string names(const std::vector<std::uint32_t> &nets) const {
        constexpr std::size_t few = 5;
        std::vector<std::string> all;
        for (std::size_t i = 0; i < nets.size() && i < few; ++i)
            all.push_back(compiled_.net_names[nets[i]]);
        return (nets.size() == 1 ? "net " : "nets ") + listed(all) + (nets.size() > few ? " ..." : "");
    }

    // ---- returns

    // Loads that return to an earthed pole through an isolator or fuse which, open, leaves their line closed.
    void decide_returns() {
        std::map<std::uint32_t, std::set<std::string>> borrowed; // isolator or fuse -> loads that return through it
        for (const Impedance &load : compiled_.impedances)
            for (const auto &[line, back] : {std::pair{load.a, load.b}, {load.b, load.a}})
                for (const std::uint32_t variable : on_the_return(back))
                    if (reaches(line, false, variable) && !reaches(back, true, variable))
                        borrowed[variable].insert(compiled_.device_names[load.device]);
        for (const auto &[variable, loads] : borrowed) {
            const std::string &name = context_.name(variable);
            std::vector<std::string> subjects{name};
            decided_.device = compiled_.variables[variable].device;
            decided_.order = order_of_returns;
            subjects.insert(subjects.end(), loads.begin(), loads.end());
            decided_.add({.rule = one_origin_rule,
                          .status = Status::fails,
                          .subjects = subjects,
                          .text = listed(loads) + (loads.size() == 1 ? " returns" : " return") + " through " + name +
                                  ", which does not open " + (loads.size() == 1 ? "its" : "their") +
                                  " line: open, it leaves the return live (borrowed neutral).",
                          .witness = {{act_text(context_.actors[variable], compiled_.variables[variable].kind, true)},
                                      {},
                                      "the return of " + *loads.begin() + " open"}});
        }
    }

    bool earthed(std::uint32_t net) const {
        return std::any_of(pole_at_[net].begin(), pole_at_[net].end(),
                           [&](const Pole &each) { return compiled_.sources[each.source].earthed == each.pole; });
    }

    // Isolators and fuses met between here and earthed poles. A return crosses no contactor's coil line.
    std::set<std::uint32_t> on_the_return(std::uint32_t from) const {
        std::set<std::uint32_t> found;
        if (context_.relevance.is_pole_net(from) ||
            std::none_of(pieces_[piece_of_[from]].pole_nets.begin(), pieces_[piece_of_[from]].pole_nets.end(),
                         [&](std::uint32_t net) { return earthed(net); }))
            return found;
        std::set<std::uint32_t> seen{from};
        std::vector<std::uint32_t> queue{from};
        for (std::size_t k = 0; k < queue.size(); ++k)
            for (const std::uint32_t i : context_.lookup.switches_at[queue[k]]) {
                const Switch &contact = compiled_.switches[i];
                const std::uint32_t far = contact.a == queue[k] ? contact.b : contact.a;
                if (contact.closed_at == 0)
                    continue;
                if (contact.variable != none &&
                    (compiled_.variables[contact.variable].kind == Variable::Kind::isolator ||
                     compiled_.variables[contact.variable].kind == Variable::Kind::fuse))
                    found.insert(contact.variable);
                if (!context_.relevance.is_pole_net(far) && seen.insert(far).second)
                    queue.push_back(far);
            }
        return found;
    }

    // Contacts, all closed but those of one device, join this net to an earthed pole, or to one that is not.
    bool reaches(std::uint32_t from, bool to_earthed, std::uint32_t without) const {
        std::set<std::uint32_t> seen{from};
        std::vector<std::uint32_t> queue{from};
        for (std::size_t k = 0; k < queue.size(); ++k) {
            if (context_.relevance.is_pole_net(queue[k])) {
                if (!pole_at_[queue[k]].empty() && earthed(queue[k]) == to_earthed)
                    return true;
                continue;
            }
            for (const std::uint32_t i : context_.lookup.switches_at[queue[k]]) {
                const Switch &contact = compiled_.switches[i];
                const std::uint32_t far = contact.a == queue[k] ? contact.b : contact.a;
                if (contact.closed_at != 0 && (contact.variable == none || contact.variable != without) &&
                    seen.insert(far).second)
                    queue.push_back(far);
            }
        }
        return false;
    }

    // ---- boxes with several feeds

    // Hand devices whose contacts are fed over different isolators: one isolator open does not make the box dead.
    void note_boxes() {
        std::vector<std::uint32_t> region(compiled_.net_count, none);
        std::vector<std::set<std::string>> feeds; // per region: isolators and sources that feed it
        const auto explore = [&](std::uint32_t start) {
            const auto number = static_cast<std::uint32_t>(feeds.size());
            feeds.emplace_back();
            std::vector<std::uint32_t> nets{start};
            region[start] = number;
            for (std::size_t k = 0; k < nets.size(); ++k)
                for (const std::uint32_t i : context_.lookup.switches_at[nets[k]]) {
                    const Switch &contact = compiled_.switches[i];
                    const std::uint32_t far = contact.a == nets[k] ? contact.b : contact.a;
                    if (contact.closed_at == 0)
                        continue;
                    if (contact.pole && contact.variable != none &&
                        compiled_.variables[contact.variable].kind == Variable::Kind::isolator)
                        feeds[number].insert(context_.name(contact.variable));
                    else if (context_.relevance.is_pole_net(far)) {
                        if (!earthed(far))
                            for (const Pole &each : pole_at_[far])
                                feeds[number].insert(compiled_.device_names[compiled_.sources[each.source].device]);
                    } else if (region[far] == none) {
                        region[far] = number;
                        nets.push_back(far);
                    }
                }
        };
        for (std::uint32_t v = 0; v < compiled_.variables.size(); ++v) {
            if (compiled_.variables[v].kind != Variable::Kind::actuator)
                continue;
            const bool of_interest = stops_ && context_.stop_of[v] != none && context_.contacts_of(v) > 1;
            std::set<std::set<std::string>> seen;
            for (const std::uint32_t i : context_.lookup.switches_of[v]) {
                const std::uint32_t net = compiled_.switches[i].a;
                if (of_interest)
                    stops_->push_back({compiled_.switches[i].device, compiled_.switches[i].terminal, {}});
                if (context_.relevance.is_pole_net(net))
                    continue;
                if (region[net] == none)
                    explore(net);
                if (!feeds[region[net]].empty())
                    seen.insert(feeds[region[net]]);
                if (of_interest)
                    stops_->back().from = feeds[region[net]];
            }
            decided_.device = compiled_.variables[v].device;
            decided_.order = order_of_boxes;
            if (auto note = note_of_several_feeds(context_.name(v), seen))
                decided_.add(std::move(*note));
        }
    }

    const Context &context_;
    const Compiled &compiled_;
    std::vector<ContactFed> *stops_;
    std::vector<std::uint32_t> owners_;      ///< per net
    std::vector<std::vector<Pole>> pole_at_; ///< per net
    std::vector<std::uint32_t> piece_of_;    ///< per net
    std::vector<Piece> pieces_;
    Decided decided_;
};

} // namespace

// Every net has one origin: contacts never join the poles of two sources on it, and what returns through an isolator or
// fuse is fed over the same one.
Decided decide_one_origin(Tools &tools, std::vector<ContactFed> *stops) {
    return OneOrigin(tools, stops).decide();
}

std::optional<Finding> note_of_several_feeds(const std::string &name, const std::set<std::set<std::string>> &feeds) {
    if (feeds.size() < 2)
        return std::nullopt;
    std::set<std::string> all;
    for (const auto &each : feeds)
        all.insert(each.begin(), each.end());
    return Finding{.rule = one_origin_rule,
                   .status = Status::note,
                   .subjects = {name},
                   .text = "The contacts of " + name + " are fed from " + listed(all) +
                           ": all of them must be off before it is opened; label it."};
}

} // namespace stopspan
