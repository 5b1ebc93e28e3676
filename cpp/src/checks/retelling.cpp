#include "checks/retelling.hpp"

#include "checks/fact_text.hpp"

#include <algorithm>
#include <tuple>

namespace stopspan {
namespace {

using Text = Vocabulary::Text;
using Piece = Vocabulary::Piece;

constexpr std::string_view coil_of_words = "coil of ", between = "; ";

void add_words(std::string words, Text &text) {
    if (!words.empty())
        text.push_back({Piece::Kind::words, none, std::move(words)});
}

bool by_name(const Loss &a, const Loss &b) {
    return std::tie(a.rule, a.subject) < std::tie(b.rule, b.subject);
}

// @returns whether it is one of these
bool add_fault(const std::string &words, std::span<const Fault> faults, Text &text) {
    const auto same = [&](const Fault &fault) { return fault.text == words; };
    const auto at = std::find_if(faults.begin(), faults.end(), same);
    if (at != faults.end())
        text.push_back({Piece::Kind::fault, static_cast<std::uint32_t>(at - faults.begin())});
    return at != faults.end();
}

} // namespace

std::string said(const Text &text, const Context &context, const MachineSeen &machine,
                 const MachineSurroundings &around, std::span<const Fault> faults) {
    const Compiled &compiled = context.compiled;
    std::string all;
    for (const Piece &piece : text)
        switch (piece.kind) {
        case Piece::Kind::words:
            all += piece.words;
            break;
        case Piece::Kind::device:
            all += context.name(around.variables()[piece.number]);
            break;
        case Piece::Kind::net:
            all += compiled.net_names[around.nets()[piece.number]];
            break;
        case Piece::Kind::contact:
            all += contact_text(context.circuit, compiled.switches[around.switches()[piece.number]]);
            break;
        case Piece::Kind::load:
            all += compiled.device_names[compiled.impedances[around.impedances()[piece.number]].device];
            break;
        case Piece::Kind::machine:
            all += machine.name;
            break;
        case Piece::Kind::fault:
            all += faults[piece.number].text;
            break;
        }
    return all;
}

std::vector<std::string> said(const std::vector<Text> &texts, const Context &context, const MachineSeen &machine,
                              const MachineSurroundings &around, std::span<const Fault> faults) {
    std::vector<std::string> all;
    all.reserve(texts.size());
    for (const Text &text : texts)
        all.push_back(said(text, context, machine, around, faults));
    return all;
}

Vocabulary::Vocabulary(const Context &context, const MachineSurroundings &around) : context_(context), around_(around) {
    const Compiled &compiled = context.compiled;
    for (std::uint32_t k = 0; k < around.switches().size(); ++k)
        parts_.try_emplace(contact_text(context.circuit, compiled.switches[around.switches()[k]]),
                           Piece{Piece::Kind::contact, k});
    for (std::uint32_t k = 0; k < around.impedances().size(); ++k)
        parts_.try_emplace(compiled.device_names[compiled.impedances[around.impedances()[k]].device],
                           Piece{Piece::Kind::load, k});
}

bool Vocabulary::add_name(const std::string &name, Text &text) const {
    const auto device = context_.circuit.find(name);
    const std::uint32_t variable = device ? context_.compiled.variable_of[device->value] : none;
    const std::uint32_t number = variable == none ? none : around_.number_of_variable(variable);
    if (number != none)
        text.push_back({Piece::Kind::device, number});
    return number != none;
}

bool Vocabulary::add_subject(const std::string &subject, std::span<const Fault> faults, Text &text) const {
    if (add_fault(subject, faults, text))
        return true;
    if (subject == all_sources) {
        add_words(subject, text);
        return true;
    }
    const std::size_t after = std::min(subject.find_first_of(" :"), subject.size());
    if (!add_name(subject.substr(0, after), text))
        return false;
    add_words(subject.substr(after), text);
    return true;
}

bool Vocabulary::add_act(const std::string &act, std::span<const Fault> faults, Text &text) const {
    if (add_fault(act, faults, text))
        return true;
    for (std::size_t from = 0;;) { // of several sources each is told
        const std::size_t end = std::min(act.find(between, from), act.size());
        const std::size_t name = act.find(' ', from) + 1;
        add_words(act.substr(from, name - from), text);
        if (name == 0 || name > end || !add_subject(act.substr(name, end - name), faults, text))
            return false;
        if (end == act.size())
            return true;
        add_words(std::string(between), text);
        from = end + between.size();
    }
}

bool Vocabulary::add_net(const std::string &name, Text &text) const {
    const auto net = context_.circuit.find_net(name);
    const std::uint32_t number = net ? around_.number_of_net(net->value) : none;
    if (number != none)
        text.push_back({Piece::Kind::net, number});
    return number != none;
}

bool Vocabulary::add_part(const std::string &part, Text &text) const {
    if (part == "fault") {
        add_words(part, text);
        return true;
    }
    if (part.starts_with(coil_of_words)) {
        add_words(std::string(coil_of_words), text);
        return add_name(part.substr(coil_of_words.size()), text);
    }
    const auto known = parts_.find(part);
    if (known != parts_.end())
        text.push_back(known->second);
    return known != parts_.end();
}

bool Vocabulary::add_end(const std::string &ends_in, const MachineSeen &machine, Text &text) {
    if (!ends_in.starts_with(machine.name + " "))
        return false;
    text.push_back({Piece::Kind::machine});
    add_words(ends_in.substr(machine.name.size()), text);
    return true;
}

bool Vocabulary::add_acts(const std::vector<std::string> &acts, std::span<const Fault> faults,
                          std::vector<Text> &texts) const {
    return std::all_of(acts.begin(), acts.end(),
                       [&](const std::string &act) { return add_act(act, faults, texts.emplace_back()); });
}

bool Vocabulary::add_path(const std::vector<std::string> &path, std::vector<Text> &texts) const {
    for (std::size_t k = 0; k < path.size(); ++k)
        if (Text &step = texts.emplace_back(); k % 2 == 0 ? !add_net(path[k], step) : !add_part(path[k], step))
            return false;
    return true;
}

bool in_order_of_names(const std::vector<Loss> &losses) {
    return std::is_sorted(losses.begin(), losses.end(), by_name);
}

Retelling::Retelling(const Vocabulary &vocabulary, const MachineSeen &machine, std::span<const Fault> faults,
                     FaultEffect effect, Paths paths)
    : effect_(std::move(effect)), paths_(paths), can_be_told_(take(vocabulary, machine, faults)) {}

bool Retelling::take(const Vocabulary &vocabulary, const MachineSeen &machine, std::span<const Fault> faults) {
    for (const Loss &loss : effect_.losses) {
        OfLoss &told = losses_.emplace_back();
        if (!vocabulary.add_subject(loss.subject, faults, told.subject) ||
            !vocabulary.add_acts(loss.fact.acts, faults, told.acts) ||
            !vocabulary.add_acts(loss.fact.runs_on, faults, told.runs_on) ||
            !Vocabulary::add_end(loss.fact.ends_in, machine, told.ends_in) ||
            (paths_ == Paths::told && !vocabulary.add_path(loss.path, told.path)))
            return false;
    }
    return std::all_of(effect_.noticed.fuses.begin(), effect_.noticed.fuses.end(),
                       [&](const std::string &fuse) { return vocabulary.add_name(fuse, fuses_.emplace_back()); });
}

std::optional<FaultEffect> Retelling::of(const Context &context, const MachineSeen &machine,
                                         const MachineSurroundings &around, std::span<const Fault> faults) const {
    if (!can_be_told_)
        return std::nullopt;
    const auto say = [&](const auto &told) { return said(told, context, machine, around, faults); };
    std::vector<std::pair<std::uint32_t, Loss>> found; // with the stop that does not cut
    found.reserve(losses_.size());
    for (std::size_t k = 0; k < losses_.size(); ++k) {
        const Loss &loss = effect_.losses[k];
        const OfLoss &told = losses_[k];
        const bool of_stop = loss.rule == "stop-cuts" && told.subject.front().kind == Piece::Kind::device;
        found.emplace_back(of_stop ? context.stop_of[around.variables()[told.subject.front().number]] : none,
                           Loss{machine.index,
                                loss.rule,
                                say(told.subject),
                                {loss.fact.status, say(told.acts), say(told.ends_in), loss.fact.mode, loss.fact.way,
                                 loss.fact.sure, say(told.runs_on)},
                                paths_ == Paths::told ? say(told.path) : loss.path});
    }
    // In the order in which they are found: of a search by their names, else as the circuit has its stops.
    const bool by_names = in_order_of_names(effect_.losses);
    std::stable_sort(found.begin(), found.end(), [&](const auto &a, const auto &b) {
        return by_names ? by_name(a.second, b.second) : a.first < b.first;
    });
    FaultEffect effect;
    effect.losses.reserve(found.size());
    for (auto &[stop, loss] : found)
        effect.losses.push_back(std::move(loss));
    effect.undecided.assign(effect_.undecided.size(), machine.index);
    effect.incomplete.assign(effect_.incomplete.size(), machine.index);
    effect.noticed = {effect_.noticed.how, machine.name, say(fuses_)};
    return effect;
}

} // namespace stopspan
