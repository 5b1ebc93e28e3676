#include "checks/alike_machines.hpp"

#include "base/parallel.hpp"
#include "checks/surroundings_order.hpp"

#include <algorithm>
#include <array>
#include <numeric>
#include <optional>

namespace stopspan {
namespace {

// Machines looked around by all threads, before it is asked whether that was enough.
constexpr std::size_t at_once = 256;

// Puts what stands around a machine into words.
class Writer {
public:
    Writer(const Context &context, const MachineSeen &machine, const std::vector<std::uint32_t> &makes,
           const StopRows *rows = nullptr, const Fault *fault = nullptr)
        : context_(context), full_(context.compiled), machine_(machine), makes_(makes), fault_(fault),
          order_(context, machine, makes, rows, fault) {}

    void write(std::vector<std::uint32_t> &nets, std::vector<std::uint32_t> &variables,
               std::vector<std::uint32_t> &switches, std::vector<std::uint32_t> &impedances, std::vector<Word> &words) {
        nets = order_.nets();
        variables = order_.variables();
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
    void put(Word word) { words_.push_back(word); }
    Word net_word(std::uint32_t net) const { return order_.number_of_net(net); }
    Word variable_word(std::uint32_t variable) const { return order_.number_of_variable(variable); }
    Word armature_word(std::uint32_t armature) const {
        return armature == none ? none : variable_word(full_.armatures[armature].variable);
    }
    void put_pair(const std::pair<std::uint32_t, std::uint32_t> &nets) {
        put(net_word(nets.first));
        put(net_word(nets.second));
    }

    void put_nets() {
        put(order_.nets().size());
        for (const std::uint32_t net : order_.nets()) {
            put(order_.is_shared(net) ? net + 1 : 0);
            put(2 * std::binary_search(machine_.reach.nets.begin(), machine_.reach.nets.end(), net) +
                context_.relevance.is_pole_net(net));
        }
    }

    void put_variables() {
        put(order_.variables().size());
        for (const std::uint32_t variable : order_.variables()) {
            put(order_.label_of(variable));
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
        return put_in_order(order_.reach().switches, [&](std::uint32_t i) {
            const auto [from, to] = order_.ends_of(i);
            const auto [a, b] = std::minmax({from, to});
            return std::array{a, b, variable_word(full_.switches[i].variable), order_.label_of(full_.switches[i])};
        });
    }

    void put_rows() {
        const auto rows = order_.rows();
        std::vector<std::uint32_t> all(rows.size());
        std::iota(all.begin(), all.end(), 0U);
        (void)put_in_order(all, [&](std::uint32_t i) {
            const auto [at, from, to] = rows[i];
            const auto [a, b] = std::minmax({from, to});
            return std::array{at, a, b};
        });
    }

    void put_fault() {
        const auto [a, b] = std::minmax({net_word(fault_->a), net_word(fault_->b)});
        for (const Word word : {static_cast<Word>(fault_->kind), a, b,
                                variable_word(fault_->device == none ? none : full_.variable_of[fault_->device])})
            put(word);
    }

    std::vector<std::uint32_t> put_impedances() {
        return put_in_order(order_.reach().impedances, [&](std::uint32_t i) {
            const Impedance &one = full_.impedances[i];
            const auto [a, b] = std::minmax({net_word(one.a), net_word(one.b)});
            return std::array{a, b, armature_word(one.armature), order_.label_of(one)};
        });
    }

    void put_armatures() {
        put(order_.reach().armatures.size());
        for (const std::uint32_t variable : order_.variables()) {
            const std::uint32_t index = context_.lookup.armature_of[variable];
            if (index == none || full_.armatures[index].variable != variable)
                continue;
            const Armature &one = full_.armatures[index];
            for (const Word word :
                 {static_cast<Word>(one.kind), Word{one.off_delay}, Word{one.dc_coil}, word_of(one.rated_v),
                  Word{one.unknown_coil}, Word{one.automatic}, Word{one.input_missing}, variable_word(one.timed),
                  variable_word(one.memory), net_word(one.a1), net_word(one.a2), net_word(one.e1), net_word(one.e2),
                  Word{one.interlocked.size()}, Word{one.inputs.size()}})
                put(word);
            for (const std::uint32_t other : one.interlocked)
                put(armature_word(other));
            std::for_each(one.inputs.begin(), one.inputs.end(), [&](const auto &loop) { put_pair(loop); });
            for (const std::uint32_t channel : one.channels_in)
                put(variable_word(channel));
            put_pair(one.reset);
            put_pair(one.feedback);
        }
    }

    // A source that feeds more than this is the same for all it feeds.
    void put_sources() {
        (void)put_in_order(order_.reach().sources, [&](std::uint32_t s) {
            const Source &one = full_.sources[s];
            bool shared = false;
            std::vector<Word> words{variable_word(one.variable), static_cast<Word>(one.feed), one.earthed,
                                    net_word(one.feed_a),        net_word(one.feed_b),        word_of(one.primary_v),
                                    word_of(one.short_circuit_a)};
            for (std::size_t p = 0; p < one.poles.size(); ++p) {
                const Source::Pole &pole = one.poles[p];
                shared |= p != one.earthed && order_.is_shared(pole.net);
                words.insert(words.end(), {net_word(pole.net), word_of(pole.volts.ac.real()),
                                           word_of(pole.volts.ac.imag()), word_of(pole.volts.dc)});
            }
            words.push_back(shared ? s : none);
            return words;
        });
    }

    void put_motors_and_loads() {
        std::vector<std::uint32_t> devices;
        for (const std::uint32_t i : order_.reach().impedances)
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
    SurroundingsOrder order_;
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
    std::vector<std::uint32_t> nets, switches, impedances; // in a row any may be the other's like
    Writer(context, machine, makes, &rows, &fault).write(nets, variables_, switches, impedances, words_);
    variable_number_ = numbers_of(variables_);
}

AlikeMachines::AlikeMachines(const Context &context, const std::vector<MachineSeen> &machines)
    : first_(machines.size()), has_like_(machines.size(), 0) {
    std::iota(first_.begin(), first_.end(), 0U);
    // Where everything hangs together around each machine there is all of it to look at: only so often.
    const std::size_t most = 100 * (context.compiled.net_count + context.compiled.variables.size());
    if (machines.size() < 2 || context.small())
        return;
    const std::vector<std::uint32_t> makes = makes_of(context.circuit);
    std::map<std::vector<std::uint64_t>, std::uint32_t> first_with;
    std::size_t looked_at = 0;
    while (around_.size() < machines.size() && looked_at < most) {
        const std::size_t begun = around_.size();
        std::vector<std::optional<MachineSurroundings>> next(std::min(machines.size() - begun, at_once));
        in_parallel(next.size(), context.options.threads,
                    [&] { return [&](std::size_t k) { next[k].emplace(context, machines[begun + k], makes); }; });
        for (std::size_t k = 0; k < next.size() && looked_at < most; ++k) {
            const auto m = static_cast<std::uint32_t>(begun + k);
            MachineSurroundings &around = around_.emplace_back(std::move(*next[k]));
            looked_at += around.nets().size() + around.variables().size();
            first_[m] = first_with.try_emplace(around.take_words(), m).first->second;
            has_like_[first_[m]] |= first_[m] != m;
        }
    }
}

} // namespace stopspan
