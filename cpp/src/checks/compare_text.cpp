#include "checks/compare_text.hpp"

#include "base/number_text.hpp"
#include "base/words.hpp"

#include <algorithm>
#include <map>
#include <set>

namespace stopspan {
namespace {

using NameList = std::vector<std::string>;

/// Pairs of stop and machine of which the same is to be said.
class Pairs {
public:
    void add(const std::string &stop, const std::string &machine) {
        by_stop_[stop].push_back(machine);
        by_machine_[machine].push_back(stop);
    }
    /// In as few sentences as may be: stops with the same machines together, or machines with the same stops.
    template <class Say>
    void say(const Say &sentence) const {
        const auto stops = together(by_stop_), machines = together(by_machine_);
        if (stops.size() <= machines.size())
            for (const auto &[of, who] : stops)
                sentence(who, of);
        else
            for (const auto &[of, which] : machines)
                sentence(of, which);
    }

private:
    static std::map<NameList, NameList> together(const std::map<std::string, NameList> &each) {
        std::map<NameList, NameList> groups;
        for (const auto &[name, of] : each)
            groups[of].push_back(name);
        return groups;
    }
    std::map<std::string, NameList> by_stop_, by_machine_;
};

std::string one_or_more(const NameList &names, std::string_view one, std::string_view more) {
    return std::string(names.size() == 1 ? one : more);
}

struct StatusWords {
    std::string_view is, was;
};
StatusWords words_of(Status status) {
    switch (status) {
    case Status::fails:
        return {"fails", "failed"};
    case Status::maybe:
        return {"may fail", "might fail"};
    case Status::undecided:
        return {"is undecided", "was undecided"};
    case Status::waived:
        return {"is waived", "was waived"};
    case Status::note:
        return {"is noted", "was noted"};
    }
    return {};
}

bool is_note(const FindingChange &change) {
    return (!change.before || change.before->status == Status::note) &&
           (!change.now || change.now->status == Status::note);
}

class Teller {
public:
    Teller(const Comparison &comparison, const Compared &before, const Compared &now)
        : comparison_(comparison), before_(before.verdict), now_(now.verdict), was_ok_(before.ok), is_ok_(now.ok) {}

    NameList tell() {
        result();
        left_alone();
        found();
        modes();
        asked();
        came_and_went();
        findings();
        notes();
        rules();
        return std::move(sentences_);
    }

private:
    void say(std::string sentence) { sentences_.push_back(std::move(sentence)); }

    void result() {
        if (was_ok_ != is_ok_)
            say(is_ok_ ? "Before, not all that was checked held; now all holds."
                       : "Before, all that was checked held; now not all holds.");
    }

    // Machines that something cut, and nothing does any more: told once, not stop by stop.
    void left_alone() {
        std::set<std::string> cut;
        for (const MatrixCell &cell : now_.matrix)
            if (cell.found == Found::cuts || !spared_modes(cell).empty())
                cut.insert(cell.machine);
        std::map<std::string, NameList> lost;
        for (const CellChange &change : comparison_.cells)
            if (change.before.found == Found::cuts && !cut.contains(change.now.machine))
                lost[change.now.machine].push_back(change.now.stop);
        for (const auto &[machine, stops] : lost) {
            alone_.insert(machine);
            say("No stop surely cuts " + machine + " any more; " + listed_in_short(stops) + " did.");
        }
    }

    static std::string verb(Found was, Found is, bool one) {
        if (is == Found::cuts)
            return std::string("now ") + (was == Found::maybe ? "surely " : "") + (one ? "cuts " : "cut ");
        if (is == Found::maybe)
            return was == Found::cuts ? (one ? "no longer surely cuts " : "no longer surely cut ") : "now may cut ";
        return was == Found::cuts ? (one ? "no longer cuts " : "no longer cut ")
                                  : (one ? "surely no longer cuts " : "surely no longer cut ");
    }

    // Run modes in which a stop does not surely cut, where there are others in which it does.
    static NameList spared_modes(const MatrixCell &cell) {
        NameList spared;
        for (const auto &[mode, found] : cell.modes)
            if (found != Found::cuts)
                spared.push_back(mode);
        return spared.size() == cell.modes.size() ? NameList{} : spared;
    }

    static std::string as_asked(const MatrixCell &cell) {
        if (cell.asked == Asked::cut)
            return cell.found == Found::cuts ? ", as asked" : ", though asked to";
        if (cell.asked == Asked::keep)
            return cell.found == Found::spares ? ", as asked" : ", though asked not to";
        return "";
    }

    void found() {
        std::map<std::tuple<Found, Found, std::string>, Pairs> alike;
        for (const auto &[was, is] : comparison_.cells)
            if (was.found != is.found && !(alone_.contains(is.machine) && was.found == Found::cuts)) {
                const NameList spared = was.found == Found::cuts ? spared_modes(is) : NameList{};
                alike[{is.found, was.found, (spared.empty() ? "" : " in run mode " + listed(spared)) + as_asked(is)}]
                    .add(is.stop, is.machine);
            }
        for (const Found first : {Found::spares, Found::maybe, Found::cuts}) // what is lost, then what is won
            for (const auto &[change, pairs] : alike)
                if (const auto &[is, was, asked] = change; is == first)
                    pairs.say([&, is = is, was = was, asked = asked](const NameList &stops, const NameList &machines) {
                        say(listed_in_short(stops) + " " + verb(was, is, stops.size() == 1) +
                            listed_in_short(machines) + asked + ".");
                    });
    }

    // Where only a run mode differs.
    void modes() {
        std::map<std::tuple<std::string, Found, Found>, Pairs> alike;
        for (const auto &[was, is] : comparison_.cells)
            if (was.found == is.found)
                for (const auto &[mode, found] : is.modes)
                    if (const auto old = was.modes.find(mode); old != was.modes.end() && old->second != found)
                        alike[{mode, old->second, found}].add(is.stop, is.machine);
        for (const auto &[change, pairs] : alike)
            pairs.say([&, &change = change](const NameList &stops, const NameList &machines) {
                const auto &[mode, was, is] = change;
                say("In run mode " + mode + " " + listed_in_short(stops) + " " + verb(was, is, stops.size() == 1) +
                    listed_in_short(machines) + ".");
            });
    }

    void asked() {
        std::map<std::pair<Asked, Asked>, Pairs> alike;
        for (const auto &[was, is] : comparison_.cells)
            if (was.asked != is.asked)
                alike[{was.asked, is.asked}].add(is.stop, is.machine);
        for (const auto &[change, pairs] : alike)
            pairs.say([&, &change = change](const NameList &stops, const NameList &machines) {
                const auto &[was, is] = change;
                const Asked what = is == Asked::free ? was : is;
                say(listed_in_short(stops) + one_or_more(stops, " is", " are") +
                    (is == Asked::free ? " no longer" : " now") + " asked to " +
                    (what == Asked::cut ? "cut " : "spare ") + listed_in_short(machines) + ".");
            });
    }

    void came_and_went() {
        const auto gone = [&](const NameList &names) {
            if (!names.empty())
                say(listed_in_short(names) + one_or_more(names, " is gone.", " are gone."));
        };
        gone(comparison_.gone_machines);
        gone(comparison_.gone_stops);
        const NameList &stops = comparison_.new_stops, &machines = comparison_.new_machines;
        cut_by(machines, &MatrixCell::machine, &MatrixCell::stop, [](const NameList &who, const NameList &stops_of) {
            return stops_of.empty() ? "no stop surely cuts " + one_or_more(who, "it", "them")
                                    : listed_in_short(stops_of) + one_or_more(stops_of, " cuts ", " cut ") +
                                          one_or_more(who, "it", "them");
        });
        cut_by(stops, &MatrixCell::stop, &MatrixCell::machine, [](const NameList &who, const NameList &cut) {
            return one_or_more(who, "it ", "they ") +
                   (cut.empty() ? one_or_more(who, "surely cuts nothing", "surely cut nothing")
                                : one_or_more(who, "cuts ", "cut ") + listed_in_short(cut));
        });
    }

    // New ones with what cuts them, or what they cut.
    template <class Say>
    void cut_by(const NameList &fresh, std::string MatrixCell::*which, std::string MatrixCell::*other,
                const Say &what) {
        if (fresh.empty())
            return;
        std::map<std::string, NameList> of;
        for (const std::string &name : fresh)
            of[name];
        for (const MatrixCell &cell : now_.matrix)
            if (const auto found = of.find(cell.*which); found != of.end() && cell.found == Found::cuts)
                found->second.push_back(cell.*other);
        std::map<NameList, NameList> alike;
        for (const std::string &name : fresh)
            alike[of[name]].push_back(name);
        for (const auto &[others, who] : alike)
            say(listed_in_short(who) + one_or_more(who, " is", " are") + " new; " + what(who, others) + ".");
    }

    // That a stop cuts or spares, or no longer does, is said of the matrix already.
    bool said_of_matrix(const FindingChange &change) const {
        const Finding &finding = change.now ? *change.now : *change.before;
        return (finding.rule == "stop-cuts" || finding.rule == "stop-spares") && !(change.before && change.now) &&
               std::any_of(comparison_.cells.begin(), comparison_.cells.end(), [&](const CellChange &cell) {
                   return cell.before.found != cell.now.found &&
                          finding.subjects == NameList{cell.now.stop, cell.now.machine};
               });
    }

    void findings() {
        for (const bool of_now : {true, false})
            for (const FindingChange &change : comparison_.findings) {
                if (is_note(change) || change.now.has_value() != of_now || said_of_matrix(change))
                    continue;
                const Finding &told = change.now ? *change.now : *change.before;
                const std::string is(words_of(told.status).is);
                std::string words;
                if (!change.now)
                    words = " no longer " + is;
                else if (!change.before)
                    words = " now " + is;
                else if (change.before->status == told.status)
                    words = " still " + is + ", in another way";
                else
                    words = ", which " + std::string(words_of(change.before->status).was) + ", now " + is;
                say(told.rule + words + ": \"" + told.text + "\"");
            }
    }

    // Notes are many and alike: by rule.
    void notes() {
        constexpr std::size_t most_told = 3;
        std::map<std::string, std::vector<const FindingChange *>> by_rule;
        for (const FindingChange &change : comparison_.findings)
            if (is_note(change))
                by_rule[(change.now ? *change.now : *change.before).rule].push_back(&change);
        for (const auto &[rule, changes] : by_rule) {
            if (changes.size() <= most_told) {
                for (const FindingChange *change : changes)
                    say("Note of " + rule +
                        (!change->now     ? ", gone"
                         : change->before ? ", changed"
                                          : ", new") +
                        ": \"" + (change->now ? *change->now : *change->before).text + "\"");
                continue;
            }
            std::size_t fresh = 0, gone = 0;
            for (const FindingChange *change : changes) {
                fresh += !change->before;
                gone += !change->now;
            }
            const std::size_t other = changes.size() - fresh - gone;
            std::string words;
            for (const auto &[count, what] : {std::pair{fresh, "new"}, {gone, "gone"}, {other, "changed"}})
                if (count > 0)
                    words += (words.empty() ? "" : ", ") + std::to_string(count) + " " + what;
            say("Notes of " + rule + ": " + words + ".");
        }
    }

    void rules() {
        if (before_.rules.id != now_.rules.id)
            say("The rule set was " + before_.rules.id + " and is now " + now_.rules.id + ".");
        for (const RulesUsed::Limit &limit : now_.rules.limits)
            for (const RulesUsed::Limit &old : before_.rules.limits)
                if (old.name == limit.name && old.value != limit.value)
                    say("The limit " + limit.name + " was " + format_number(old.value) + " and is now " +
                        format_number(limit.value) + ".");
        const auto only_in = [&](const Verdict &one, const Verdict &other, const std::string &words) {
            const std::set<std::string_view> known(other.not_checked.begin(), other.not_checked.end());
            for (const std::string &line : one.not_checked)
                if (!known.contains(line))
                    say(words + line + ".");
        };
        only_in(now_, before_, "Now not checked: ");
        only_in(before_, now_, "Before not checked: ");
    }

    const Comparison &comparison_;
    const Verdict &before_, &now_;
    bool was_ok_, is_ok_;
    std::set<std::string> alone_;
    NameList sentences_;
};

} // namespace

bool went_by(const Verdict &verdict, const std::string &rule) {
    return std::none_of(verdict.not_checked.begin(), verdict.not_checked.end(),
                        [&](const std::string &line) { return line.starts_with("rule " + rule + ":"); });
}

bool has_matrix(const Verdict &verdict) {
    return went_by(verdict, "stop-cuts") || went_by(verdict, "stop-spares") || !verdict.matrix.empty();
}

std::vector<std::string> sentences_of(const Comparison &comparison, const Compared &before, const Compared &now) {
    return Teller(comparison, before, now).tell();
}

} // namespace stopspan
