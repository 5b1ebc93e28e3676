#include "checks/alike_machines.hpp"

#include "checks/machine_search.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <numeric>
#include <tuple>

namespace stopspan {
namespace {

using Word = std::uint64_t;

Word mixed(Word a, Word b) { // the finaliser of splitmix64, so that sums of these are as good as told apart
    Word x = a * 0x9e3779b97f4a7c15U + b;
    x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9U;
    x = (x ^ (x >> 27)) * 0x94d049bb133111ebU;
    return x ^ (x >> 31);
}

Word word_of(double value) {
    return std::bit_cast<Word>(value);
}

// Numbers what stands around a machine and puts it into words. What looks the same from all sides is numbered as it
// comes: if that is not how it comes at another machine, the two are merely not seen to be alike.
class Writer {
public:
    Writer(const Context &context, const MachineSeen &machine, const std::vector<std::uint32_t> &makes,
           const Fault *fault = nullptr)
        : context_(context), full_(context.compiled), machine_(machine), makes_(makes), fault_(fault),
          reach_(reach_with(context, machine, fault ? std::span(fault, 1) : std::span<const Fault>(),
                            Extent::everything)) {
        add_sources();
        nets_.resize(reach_.nets.size());
        variables_.resize(reach_.variables.size());
    }

    // What stands in a row between two nets of the fault, or an end of the row and one, becomes one net with all of its
    // contacts at it: which comes first does not matter.
    void gather_rows(const StopRows &rows) {
        std::vector<std::uint32_t> met;
        for (const std::uint32_t i : reach_.switches)
            met.push_back(rows.row_of(i));
        std::sort(met.begin(), met.end());
        met.erase(std::unique(met.begin(), met.end()), met.end());
        for (const std::uint32_t row : met)
            gather_row(rows, row);
    }

    void write(std::vector<std::uint32_t> &nets, std::vector<std::uint32_t> &variables,
               std::vector<std::uint32_t> &switches, std::vector<std::uint32_t> &impedances, std::vector<Word> &words) {
        list_ends();
        look();
        for (int round = 0; round < rounds; ++round)
            look_around();
        number();
        for (const std::uint32_t at : net_order_)
            nets.push_back(reach_.nets[at]);
        for (const std::uint32_t at : variable_order_)
            variables.push_back(reach_.variables[at]);
        put_nets();
        put_variables();
        switches = put_switches();
        impedances = put_impedances();
        put_armatures();
        put_sources();
        put_motors_and_loads();
        put_machine();
        if (fault_) {
            put_rows();
            put_fault();
        }
        words = std::move(words_);
    }

private:
    static constexpr int rounds = 6;
    static constexpr Word in_a_row = 0x726f77, at_fault = 0x666175;

    struct OfNet {
        Word looks = 0, next = 0;
        bool shared = false;
        bool gathered = false; ///< into another net of its row
        std::uint32_t number = none;
    };
    /// Contacts in a row, all by their places in reach_.
    struct Row {
        std::uint32_t at, from, to;
    };
    struct OfVariable {
        Word looks = 0, next = 0;
        std::uint32_t number = none;
    };
    /// A contact or load as seen from one of its nets; all by their places in reach_.
    struct End {
        std::uint32_t to, variable;
        Word label;
    };

    void gather_row(const StopRows &rows, std::uint32_t row) {
        const auto contacts = rows.contacts(row);
        const auto stands_in_row = [&](std::uint32_t net) { return rows.place_of(net).row == row; };
        const auto next_net = [&](std::uint32_t contact, std::uint32_t net) {
            const Switch &one = full_.switches[contact];
            return one.a == net ? one.b : one.a;
        };
        if (contacts.size() < 2)
            return;
        const Switch &first = full_.switches[contacts[0]];
        std::uint32_t net = stands_in_row(first.a) ? first.b : first.a;
        if (stands_in_row(net) || !stands_in_row(next_net(contacts[0], net)))
            return; // in a ring
        if (std::any_of(contacts.begin(), contacts.end(), [&](std::uint32_t contact) {
                return net_place(full_.switches[contact].a) == none || net_place(full_.switches[contact].b) == none;
            }))
            return; // not all of it is around
        std::uint32_t start = net_place(net), inside = none;
        for (std::size_t k = 0; k < contacts.size(); ++k) {
            net = next_net(contacts[k], net);
            const std::uint32_t at = net_place(net);
            const bool ends = k + 1 == contacts.size() || net == fault_->a || net == fault_->b;
            if (inside == none && ends) { // alone
                start = at;
                continue;
            }
            row_at_.emplace(contacts[k], inside == none ? at : inside);
            if (ends) {
                rows_.push_back({inside, start, at});
                start = at;
                inside = none;
            } else if (inside == none) {
                inside = at;
            } else {
                nets_[at].gathered = true;
            }
        }
    }

    // By places.
    std::pair<std::uint32_t, std::uint32_t> ends_of(std::uint32_t contact) const {
        if (const auto row = row_at_.find(contact); row != row_at_.end())
            return {row->second, row->second};
        return {net_place(full_.switches[contact].a), net_place(full_.switches[contact].b)};
    }

    static std::uint32_t place(const std::vector<std::uint32_t> &all, std::uint32_t index) {
        const auto at = std::lower_bound(all.begin(), all.end(), index);
        return at != all.end() && *at == index ? static_cast<std::uint32_t>(at - all.begin()) : none;
    }
    std::uint32_t net_place(std::uint32_t net) const { return net == none ? none : place(reach_.nets, net); }
    std::uint32_t variable_place(std::uint32_t v) const { return v == none ? none : place(reach_.variables, v); }

    // A source stands there with all its poles, its feed and earth.
    void add_sources() {
        const auto put = [](std::vector<std::uint32_t> &all, std::uint32_t index) {
            const auto at = std::lower_bound(all.begin(), all.end(), index);
            if (index != none && (at == all.end() || *at != index))
                all.insert(at, index);
        };
        const std::vector<std::uint32_t> met = reach_.nets;
        for (const std::uint32_t net : met)
            for (const std::uint32_t s : context_.lookup.sources_at[net])
                put(reach_.sources, s);
        for (const std::uint32_t s : reach_.sources) {
            const Source &source = full_.sources[s];
            put(reach_.variables, source.variable);
            for (const Source::Pole &pole : source.poles)
                put(reach_.nets, pole.net);
            put(reach_.nets, source.feed_a);
            put(reach_.nets, source.feed_b);
        }
        put(reach_.nets, full_.earth);
    }

    bool all_here(std::uint32_t net) const {
        const auto here = [](const auto &hang, const std::vector<std::uint32_t> &ours) {
            return std::all_of(hang.begin(), hang.end(), [&](std::uint32_t each) { return place(ours, each) != none; });
        };
        return net != full_.earth && here(context_.lookup.switches_at[net], reach_.switches) &&
               here(context_.lookup.impedances_at[net], reach_.impedances) &&
               here(context_.lookup.sources_at[net], reach_.sources) &&
               here(context_.lookup.supplies_fed_at[net], reach_.sources);
    }

    static Word label_of(const Switch &contact) {
        return mixed(contact.closed_at, contact.pole ? 3 : contact.variable == none ? 2 : 1);
    }
    Word label_of(const Impedance &load) const {
        const auto &[out, in] = std::pair{load.ac_out, load.ac_in};
        return mixed(
            mixed(mixed(word_of(out.real()), word_of(out.imag())), mixed(word_of(in.real()), word_of(in.imag()))),
            mixed(word_of(load.dc), mixed(makes_[load.device], load.unknown_coil)));
    }

    void list_ends() {
        ends_.resize(reach_.nets.size());
        const auto put = [&](std::uint32_t a, std::uint32_t b, std::uint32_t variable, Word label) {
            ends_[a].push_back({b, variable, label});
            ends_[b].push_back({a, variable, label});
            if (variable != none)
                contacts_of_.emplace_back(variable, a, b, label);
        };
        for (const std::uint32_t i : reach_.switches) {
            const auto [a, b] = ends_of(i);
            put(a, b, variable_place(full_.switches[i].variable), label_of(full_.switches[i]));
        }
        for (const Row &row : rows_)
            for (const std::uint32_t end : {row.from, row.to})
                put(end, row.at, none, in_a_row);
        for (const std::uint32_t i : reach_.impedances) {
            const Impedance &one = full_.impedances[i];
            const std::uint32_t v = one.armature == none ? none : full_.armatures[one.armature].variable;
            put(net_place(one.a), net_place(one.b), variable_place(v), label_of(one));
        }
    }

    void look() {
        for (std::size_t i = 0; i < nets_.size(); ++i) {
            const std::uint32_t net = reach_.nets[i];
            nets_[i].shared = !all_here(net);
            nets_[i].looks = mixed(nets_[i].shared ? net + 1 : 0,
                                   2 * std::binary_search(machine_.reach.nets.begin(), machine_.reach.nets.end(), net) +
                                       context_.relevance.is_pole_net(net));
            if (fault_ && (net == fault_->a || net == fault_->b))
                nets_[i].looks = mixed(nets_[i].looks, at_fault);
        }
        for (std::size_t i = 0; i < variables_.size(); ++i) {
            variables_[i].looks = own_look(reach_.variables[i]);
            if (fault_ && reach_.variables[i] == variable_of_fault())
                variables_[i].looks = mixed(variables_[i].looks, at_fault);
        }
    }

    std::uint32_t variable_of_fault() const {
        return fault_->device == none ? none : full_.variable_of[fault_->device];
    }

    Word own_look(std::uint32_t variable) const {
        const Variable &one = full_.variables[variable];
        const std::uint32_t stop = context_.stop_of[variable];
        Word look = mixed(static_cast<Word>(one.kind), makes_[one.device]);
        if (stop != none) {
            const Asked *asked = find_asked(machine_.asked, stop);
            look = mixed(look, mixed(static_cast<Word>(context_.stops[stop].category), asked ? 1 + Word(*asked) : 0));
        }
        return mixed(mixed(look, word_of(full_.fuse_rating_a[variable])),
                     2 * machine_.is_own_start(variable) + machine_.reached_by(variable));
    }

    void look_around() {
        for (std::size_t i = 0; i < nets_.size(); ++i) {
            Word sum = 0;
            if (!nets_[i].shared) // else it is known by itself
                for (const End &end : ends_[i])
                    sum += mixed(end.label,
                                 mixed(nets_[end.to].looks, end.variable == none ? 0 : variables_[end.variable].looks));
            nets_[i].next = mixed(nets_[i].looks, sum);
        }
        for (OfVariable &one : variables_)
            one.next = one.looks;
        for (const auto &[variable, a, b, label] : contacts_of_)
            variables_[variable].next += mixed(label, nets_[a].looks + nets_[b].looks);
        for (OfNet &one : nets_)
            one.looks = one.next;
        for (OfVariable &one : variables_)
            one.looks = one.next;
    }

    static bool left_out(const OfNet &net) { return net.gathered; }
    static bool left_out(const OfVariable &) { return false; }

    // From the machine's own nets on.
    void number() {
        const auto put_net = [&](std::uint32_t at) {
            if (at != none && nets_[at].number == none) {
                nets_[at].number = static_cast<std::uint32_t>(net_order_.size());
                net_order_.push_back(at);
            }
        };
        const auto put_variable = [&](std::uint32_t at) {
            if (at != none && variables_[at].number == none) {
                variables_[at].number = static_cast<std::uint32_t>(variable_order_.size());
                variable_order_.push_back(at);
            }
        };
        for (const MotorSeen *motor : machine_.motors) {
            for (const std::uint32_t net : motor->nets)
                put_net(net_place(net));
            for (const auto &[a, b] : {motor->run, motor->torque_off}) {
                put_net(net_place(a));
                put_net(net_place(b));
            }
        }
        std::size_t next_net = 0, next_variable = 0;
        const auto follow = [&] {
            for (; next_net < net_order_.size(); ++next_net) {
                const std::uint32_t at = net_order_[next_net];
                if (nets_[at].shared)
                    continue;
                std::vector<End> &ends = ends_[at];
                const auto rank = [&](const End &end) {
                    return std::tuple(end.label, end.variable == none ? 0 : variables_[end.variable].looks,
                                      nets_[end.to].looks);
                };
                std::stable_sort(ends.begin(), ends.end(),
                                 [&](const End &a, const End &b) { return rank(a) < rank(b); });
                for (const End &end : ends) {
                    put_net(end.to);
                    put_variable(end.variable);
                }
            }
            for (; next_variable < variable_order_.size(); ++next_variable) {
                const std::uint32_t armature =
                    context_.lookup.armature_of[reach_.variables[variable_order_[next_variable]]];
                if (armature != none)
                    for_asking_nets(full_.armatures[armature], [&](std::uint32_t net) { put_net(net_place(net)); });
            }
        };
        const auto follow_all = [&] {
            while (next_net < net_order_.size() || next_variable < variable_order_.size())
                follow();
        };
        follow_all();
        // What no contact or coil leads to, by what it looks like.
        const auto rest = [&](const auto &all, auto &&put) {
            std::vector<std::uint32_t> left;
            for (std::uint32_t i = 0; i < all.size(); ++i)
                if (all[i].number == none && !left_out(all[i]))
                    left.push_back(i);
            std::stable_sort(left.begin(), left.end(),
                             [&](std::uint32_t a, std::uint32_t b) { return all[a].looks < all[b].looks; });
            for (const std::uint32_t at : left) {
                put(at);
                follow_all();
            }
        };
        rest(nets_, put_net);
        rest(variables_, put_variable);
    }

    void put(Word word) { words_.push_back(word); }
    Word net_word(std::uint32_t net) const {
        const std::uint32_t at = net_place(net);
        return at == none ? none : nets_[at].number;
    }
    Word variable_word(std::uint32_t variable) const {
        const std::uint32_t at = variable_place(variable);
        return at == none ? none : variables_[at].number;
    }
    Word armature_word(std::uint32_t armature) const {
        return armature == none ? none : variable_word(full_.armatures[armature].variable);
    }
    void put_pair(const std::pair<std::uint32_t, std::uint32_t> &nets) {
        put(net_word(nets.first));
        put(net_word(nets.second));
    }

    void put_nets() {
        put(net_order_.size());
        for (const std::uint32_t at : net_order_) {
            const std::uint32_t net = reach_.nets[at];
            put(nets_[at].shared ? net + 1 : 0);
            put(2 * std::binary_search(machine_.reach.nets.begin(), machine_.reach.nets.end(), net) +
                context_.relevance.is_pole_net(net));
        }
    }

    void put_variables() {
        put(variable_order_.size());
        for (const std::uint32_t at : variable_order_) {
            const std::uint32_t variable = reach_.variables[at];
            put(own_look(variable));
            put(variable_word(full_.variable_of[full_.variables[variable].device]));
        }
    }

    // Each in the order of its words: what has the same is the same.
    template <class Words>
    std::vector<std::uint32_t> put_in_order(const std::vector<std::uint32_t> &all, Words &&words_of) {
        using Told = std::pair<std::invoke_result_t<Words, std::uint32_t>, std::uint32_t>;
        std::vector<Told> told;
        for (const std::uint32_t i : all)
            told.emplace_back(words_of(i), i);
        std::sort(told.begin(), told.end());
        std::vector<std::uint32_t> order;
        put(told.size());
        for (const auto &[words, i] : told) {
            words_.insert(words_.end(), words.begin(), words.end());
            order.push_back(i);
        }
        return order;
    }

    std::vector<std::uint32_t> put_switches() {
        return put_in_order(reach_.switches, [&](std::uint32_t i) {
            const auto [from, to] = ends_of(i);
            const auto [a, b] = std::minmax({Word{nets_[from].number}, Word{nets_[to].number}});
            return std::array{a, b, variable_word(full_.switches[i].variable), label_of(full_.switches[i])};
        });
    }

    void put_rows() {
        std::vector<std::uint32_t> all(rows_.size());
        std::iota(all.begin(), all.end(), 0U);
        (void)put_in_order(all, [&](std::uint32_t i) {
            const auto [a, b] = std::minmax({Word{nets_[rows_[i].from].number}, Word{nets_[rows_[i].to].number}});
            return std::array{Word{nets_[rows_[i].at].number}, a, b};
        });
    }

    void put_fault() {
        const auto [a, b] = std::minmax({net_word(fault_->a), net_word(fault_->b)});
        for (const Word word : {static_cast<Word>(fault_->kind), a, b, variable_word(variable_of_fault())})
            put(word);
    }

    std::vector<std::uint32_t> put_impedances() {
        return put_in_order(reach_.impedances, [&](std::uint32_t i) {
            const Impedance &one = full_.impedances[i];
            const auto [a, b] = std::minmax({net_word(one.a), net_word(one.b)});
            return std::array{a, b, armature_word(one.armature), label_of(one)};
        });
    }

    void put_armatures() {
        put(reach_.armatures.size());
        for (const std::uint32_t at : variable_order_) {
            const std::uint32_t index = context_.lookup.armature_of[reach_.variables[at]];
            if (index == none || full_.armatures[index].variable != reach_.variables[at])
                continue;
            const Armature &one = full_.armatures[index];
            for (const Word word :
                 {static_cast<Word>(one.kind), Word{one.off_delay}, Word{one.dc_coil}, word_of(one.rated_v),
                  Word{one.unknown_coil}, Word{one.automatic}, Word{one.input_missing}, variable_word(one.timed),
                  variable_word(one.memory), net_word(one.a1), net_word(one.a2), net_word(one.e1), net_word(one.e2),
                  armature_word(one.interlocked), Word{one.inputs.size()}})
                put(word);
            std::for_each(one.inputs.begin(), one.inputs.end(), [&](const auto &loop) { put_pair(loop); });
            for (const std::uint32_t channel : one.channels_in)
                put(variable_word(channel));
            put_pair(one.reset);
            put_pair(one.feedback);
        }
    }

    // A source that feeds more than this is the same for all it feeds.
    void put_sources() {
        (void)put_in_order(reach_.sources, [&](std::uint32_t s) {
            const Source &one = full_.sources[s];
            bool shared = false;
            std::vector<Word> words{variable_word(one.variable), static_cast<Word>(one.feed), one.earthed,
                                    net_word(one.feed_a),        net_word(one.feed_b),        word_of(one.primary_v),
                                    word_of(one.short_circuit_a)};
            for (std::size_t p = 0; p < one.poles.size(); ++p) {
                const Source::Pole &pole = one.poles[p];
                shared |= p != one.earthed && nets_[net_place(pole.net)].shared;
                words.insert(words.end(), {net_word(pole.net), word_of(pole.volts.ac.real()),
                                           word_of(pole.volts.ac.imag()), word_of(pole.volts.dc)});
            }
            words.push_back(shared ? s : none);
            return words;
        });
    }

    void put_motors_and_loads() {
        std::vector<std::uint32_t> devices;
        for (const std::uint32_t i : reach_.impedances)
            devices.push_back(full_.impedances[i].device);
        std::sort(devices.begin(), devices.end());
        devices.erase(std::unique(devices.begin(), devices.end()), devices.end());
        (void)put_in_order(devices, [&](std::uint32_t device) {
            std::vector<Word> words{makes_[device]};
            const auto pair = [&](const std::pair<std::uint32_t, std::uint32_t> &nets) {
                words.insert(words.end(), {net_word(nets.first), net_word(nets.second)});
            };
            if (const std::uint32_t at = context_.lookup.motor_of[device]; at != none) {
                const MotorSeen &one = full_.motors[at];
                words.insert(words.end(), {static_cast<Word>(one.kind), Word{one.machine == machine_.index},
                                           word_of(one.rated_v), Word{one.slow_joined}, Word{one.waits},
                                           variable_word(one.memory), Word{one.nets.size()}});
                for (const std::uint32_t net : one.nets)
                    words.push_back(net_word(net));
                for (const MotorSeen::Winding &winding : one.windings) {
                    pair({winding.a, winding.b});
                    words.push_back(word_of(winding.rated_v));
                }
                pair(one.run);
                pair(one.torque_off);
            }
            if (const std::uint32_t at = context_.lookup.load_of[device]; at != none) {
                pair({full_.loads[at].a, full_.loads[at].b});
                words.push_back(word_of(full_.loads[at].rated_v));
            }
            return words;
        });
    }

    // What rules were told to look at, in their order.
    void put_machine() {
        const auto list = [&](const std::vector<std::uint32_t> &all, auto &&word) {
            std::vector<Word> words;
            for (const std::uint32_t each : all)
                words.push_back(word(each));
            std::sort(words.begin(), words.end());
            put(words.size());
            words_.insert(words_.end(), words.begin(), words.end());
        };
        const auto variable = [&](std::uint32_t each) {
            const Word word = variable_word(each);
            return word == none ? (Word{1} << 32) + each : word; // elsewhere, the same for both
        };
        for (const auto *all : {&machine_.power_variables, &machine_.line_selectors, &machine_.own_starts,
                                &machine_.overloads, &machine_.reach.variables})
            list(*all, variable);
        for (const auto *all : {&machine_.power_armatures, &machine_.reach.armatures})
            list(*all, [&](std::uint32_t each) { return variable(full_.armatures[each].variable); });
        std::vector<std::uint32_t> asked;
        for (const auto &[stop, what] : machine_.asked)
            asked.push_back(context_.stops[stop].variable);
        list(asked, [&](std::uint32_t each) {
            return mixed(variable(each), static_cast<Word>(asked_of(machine_.asked, context_.stop_of[each])));
        });
    }

    const Context &context_;
    const Compiled &full_;
    const MachineSeen &machine_;
    const std::vector<std::uint32_t> &makes_;
    const Fault *fault_; ///< or null
    Reach reach_;
    std::vector<OfNet> nets_;           ///< as in reach_
    std::vector<OfVariable> variables_; ///< as in reach_
    std::vector<std::vector<End>> ends_;
    std::vector<std::tuple<std::uint32_t, std::uint32_t, std::uint32_t, Word>> contacts_of_;
    std::map<std::uint32_t, std::uint32_t> row_at_; ///< per contact of a row: where all of it stands
    std::vector<Row> rows_;
    std::vector<std::uint32_t> net_order_, variable_order_;
    std::vector<Word> words_;
};

Renumbering numbers_of(const std::vector<std::uint32_t> &order) {
    std::vector<std::pair<std::uint32_t, std::uint32_t>> pairs;
    for (std::uint32_t number = 0; number < order.size(); ++number)
        pairs.emplace_back(order[number], number);
    std::sort(pairs.begin(), pairs.end());
    Renumbering numbers;
    for (const auto &[index, number] : pairs)
        numbers.add(index, number);
    return numbers;
}

} // namespace

std::vector<std::uint32_t> makes_of(const Circuit &circuit) {
    std::map<std::string, std::uint32_t> known;
    std::vector<std::uint32_t> makes;
    for (const Device &device : circuit.devices()) {
        std::string make(to_text(device.kind));
        for (const auto &[name, value] : device.parameters)
            if (name != "machine" && name != "interlocked_with")
                make += '\n' + name + ' ' + to_text(value);
        makes.push_back(known.try_emplace(std::move(make), static_cast<std::uint32_t>(known.size())).first->second);
    }
    return makes;
}

MachineSurroundings::MachineSurroundings(const Context &context, const MachineSeen &machine,
                                         const std::vector<std::uint32_t> &makes) {
    Writer(context, machine, makes).write(nets_, variables_, switches_, impedances_, words_);
    net_number_ = numbers_of(nets_);
    variable_number_ = numbers_of(variables_);
}

MachineSurroundings::MachineSurroundings(const Context &context, const MachineSeen &machine,
                                         const std::vector<std::uint32_t> &makes, const StopRows &rows,
                                         const Fault &fault) {
    Writer writer(context, machine, makes, &fault);
    writer.gather_rows(rows);
    writer.write(nets_, variables_, switches_, impedances_, words_);
}

AlikeMachines::AlikeMachines(const Context &context, const std::vector<MachineSeen> &machines)
    : first_(machines.size()), has_like_(machines.size(), 0) {
    std::iota(first_.begin(), first_.end(), 0U);
    // Where everything hangs together around each machine there is all of it to look at: only so often.
    const std::size_t most = 100 * (context.compiled.net_count + context.compiled.variables.size());
    if (machines.size() < 2 || context.compiled.cut_out || context.small())
        return;
    const std::vector<std::uint32_t> makes = makes_of(context.circuit);
    std::map<std::vector<std::uint64_t>, std::uint32_t> first_with;
    std::size_t looked_at = 0;
    for (std::uint32_t m = 0; m < machines.size() && looked_at < most; ++m) {
        MachineSurroundings &around = around_.emplace_back(context, machines[m], makes);
        looked_at += around.nets().size() + around.variables().size();
        first_[m] = first_with.try_emplace(around.take_words(), m).first->second;
        has_like_[first_[m]] |= first_[m] != m;
    }
}

} // namespace stopspan
