#include "checks/surroundings_order.hpp"

#include <algorithm>

namespace stopspan {
namespace {

constexpr int rounds = 6; // of looking around: what stands so far off is told apart
constexpr Word in_a_row = 0x726f77, at_fault = 0x666175, from_feed = 0x736563, to_feed = 0x707269;

bool left_out(const auto &thing) { // a variable never is
    if constexpr (requires { thing.gathered; })
        return thing.gathered;
    return false;
}

} // namespace

SurroundingsOrder::SurroundingsOrder(const Context &context, const MachineSeen &machine,
                                     const std::vector<std::uint32_t> &makes, const StopRows *rows, const Fault *fault)
    : context_(context), full_(context.compiled), machine_(machine), makes_(makes), fault_(fault),
      reach_(reach_with(context, machine, fault ? std::span(fault, 1) : std::span<const Fault>(), Extent::everything)) {
    add_sources();
    nets_.resize(reach_.nets.size());
    variables_.resize(reach_.variables.size());
    if (rows)
        gather_rows(*rows);
    list_ends();
    look();
    for (int round = 0; round < rounds; ++round)
        look_around();
    number();
    std::transform(net_order_.begin(), net_order_.end(), net_order_.begin(),
                   [&](std::uint32_t at) { return reach_.nets[at]; });
    std::transform(variable_order_.begin(), variable_order_.end(), variable_order_.begin(),
                   [&](std::uint32_t at) { return reach_.variables[at]; });
}

std::uint32_t SurroundingsOrder::number_of_net(std::uint32_t net) const {
    const std::uint32_t at = net_place(net);
    return at == none ? none : nets_[at].number;
}

std::uint32_t SurroundingsOrder::number_of_variable(std::uint32_t variable) const {
    const std::uint32_t at = variable_place(variable);
    return at == none ? none : variables_[at].number;
}

std::pair<Word, Word> SurroundingsOrder::ends_of(std::uint32_t contact) const {
    const auto [a, b] = end_places(contact);
    return {nets_[a].number, nets_[b].number};
}

std::vector<std::array<Word, 3>> SurroundingsOrder::rows() const {
    std::vector<std::array<Word, 3>> all;
    for (const Row &row : rows_)
        all.push_back({nets_[row.at].number, nets_[row.from].number, nets_[row.to].number});
    return all;
}

void SurroundingsOrder::gather_rows(const StopRows &rows) {
    std::vector<std::uint32_t> met;
    for (const std::uint32_t i : reach_.switches)
        met.push_back(rows.row_of(i));
    std::sort(met.begin(), met.end());
    met.erase(std::unique(met.begin(), met.end()), met.end());
    for (const std::uint32_t row : met)
        gather_row(rows, row);
}

void SurroundingsOrder::gather_row(const StopRows &rows, std::uint32_t row) {
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

std::pair<std::uint32_t, std::uint32_t> SurroundingsOrder::end_places(std::uint32_t contact) const {
    if (const auto row = row_at_.find(contact); row != row_at_.end())
        return {row->second, row->second};
    return {net_place(full_.switches[contact].a), net_place(full_.switches[contact].b)};
}

std::uint32_t SurroundingsOrder::place(const std::vector<std::uint32_t> &all, std::uint32_t index) {
    const auto at = std::lower_bound(all.begin(), all.end(), index);
    return at != all.end() && *at == index ? static_cast<std::uint32_t>(at - all.begin()) : none;
}

// A source stands there with all its poles, its feed and earth.
void SurroundingsOrder::add_sources() {
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

bool SurroundingsOrder::all_here(std::uint32_t net) const {
    const auto here = [](const auto &hang, const std::vector<std::uint32_t> &ours) {
        return std::all_of(hang.begin(), hang.end(), [&](std::uint32_t each) { return place(ours, each) != none; });
    };
    return net != full_.earth && here(context_.lookup.switches_at[net], reach_.switches) &&
           here(context_.lookup.impedances_at[net], reach_.impedances) &&
           here(context_.lookup.sources_at[net], reach_.sources) &&
           here(context_.lookup.supplies_fed_at[net], reach_.sources);
}

Word SurroundingsOrder::label_of(const Impedance &load) const {
    const auto &[out, in] = std::pair{load.ac_out, load.ac_in};
    return mixed(mixed(mixed(word_of(out.real()), word_of(out.imag())), mixed(word_of(in.real()), word_of(in.imag()))),
                 mixed(word_of(load.dc), mixed(makes_[load.device], load.unknown_coil)));
}

void SurroundingsOrder::list_ends() {
    ends_.resize(reach_.nets.size());
    const auto put = [&](std::uint32_t a, std::uint32_t b, std::uint32_t variable, Word label) {
        ends_[a].push_back({b, variable, label});
        ends_[b].push_back({a, variable, label});
        if (variable != none)
            contacts_of_.emplace_back(variable, a, b, label);
    };
    for (const std::uint32_t i : reach_.switches) {
        const auto [a, b] = end_places(i);
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
    for (const std::uint32_t s : reach_.sources) {
        const Source &one = full_.sources[s];
        if (one.feed == Source::Feed::own)
            continue;
        const std::uint32_t variable = variable_place(one.variable);
        for (std::uint32_t p = 0; p < one.poles.size(); ++p)
            for (const std::uint32_t feed : {one.feed_a, one.feed_b}) {
                const std::uint32_t a = net_place(feed), b = net_place(one.poles[p].net);
                const Word label = mixed(makes_[one.device], 2 * p + (feed == one.feed_a));
                ends_[a].push_back({b, variable, mixed(label, from_feed)});
                ends_[b].push_back({a, variable, mixed(label, to_feed)});
                contacts_of_.emplace_back(variable, a, b, label);
            }
    }
}

void SurroundingsOrder::look() {
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
        variables_[i].looks = label_of(reach_.variables[i]);
        if (fault_ && reach_.variables[i] == variable_of_fault())
            variables_[i].looks = mixed(variables_[i].looks, at_fault);
    }
}

std::uint32_t SurroundingsOrder::variable_of_fault() const {
    return fault_->device == none ? none : full_.variable_of[fault_->device];
}

Word SurroundingsOrder::label_of(std::uint32_t variable) const {
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

void SurroundingsOrder::look_around() {
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

// From the machine's own nets on.
void SurroundingsOrder::number() {
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
            std::stable_sort(ends.begin(), ends.end(), [&](const End &a, const End &b) { return rank(a) < rank(b); });
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

} // namespace stopspan
