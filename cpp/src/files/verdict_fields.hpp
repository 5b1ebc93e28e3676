#pragma once

#include "files/fields.hpp"
#include "stopspan/verdict.hpp"

#include <limits>

// A verdict in the installation file, for both directions as the fields of what is asked.
namespace stopspan {

/// A line of words: an act, a step of a path, what was not checked.
struct VerdictLine {
    std::string text;
};

template <class Io>
void fields(Io &io, VerdictLine &it) {
    io.needed("text", it.text);
}

template <class Io>
void lines(Io &io, std::string_view name, std::vector<std::string> &all) {
    std::vector<VerdictLine> each;
    for (const std::string &text : all)
        each.push_back({text});
    io.children(name, each);
    all.clear();
    for (VerdictLine &line : each)
        all.push_back(std::move(line.text));
}

/// What a stop does to one run mode of a machine.
struct ModeFound {
    std::string mode;
    Found found = Found::spares;
};

template <class Io>
void fields(Io &io, ModeFound &it) {
    io.needed("name", it.mode);
    io.word("found", it.found);
}

template <class Io>
void fields(Io &io, MatrixCell &it) {
    io.needed("stop", it.stop);
    io.needed("machine", it.machine);
    io.word("asked", it.asked);
    io.word("found", it.found);
    std::vector<ModeFound> modes;
    for (const auto &[mode, found] : it.modes)
        modes.push_back({mode, found});
    io.children("mode", modes);
    for (ModeFound &each : modes)
        it.modes.emplace(std::move(each.mode), each.found);
}

template <class Io>
void fields(Io &io, Finding &it) {
    io.needed("rule", it.rule);
    io.word("status", it.status);
    io.needed("text", it.text);
    io.if_any("ends_in", it.witness.ends_in);
    io.if_any("repair", it.repair);
    io.needed("source", it.source);
    lines(io, "subject", it.subjects);
    lines(io, "act", it.witness.acts);
    lines(io, "path", it.witness.path);
}

/// How many claims of a rule came out one way.
struct ClaimCount {
    std::string rule, result;
    int number = 0;
};

template <class Io>
void fields(Io &io, ClaimCount &it) {
    io.needed("rule", it.rule);
    io.needed("result", it.result);
    io.usual("number", it.number);
}

template <class Io>
void fields(Io &io, Walk &it) {
    io.needed("from", it.start);
    io.if_any("area", it.area);
    io.needed("machine", it.machine);
    io.needed("stop", it.stop);
    io.needed("distance_m", it.distance_m);
}

template <class Io>
void fields(Io &io, Verdict &it) {
    bool holds = it.ok();
    io.usual("holds", holds);
    io.needed("rule_set", it.rules.id);
    io.children("cell", it.matrix);
    io.children("finding", it.findings);
    std::vector<ClaimCount> counts;
    for (const auto &[rule, results] : it.counts)
        for (const auto &[result, number] : results)
            counts.push_back(
                {rule, result, static_cast<int>(std::min<std::size_t>(number, std::numeric_limits<int>::max()))});
    io.children("count", counts);
    for (const ClaimCount &each : counts)
        it.counts[each.rule][each.result] = static_cast<std::size_t>(each.number);
    io.children("walk", it.walks);
    lines(io, "not-checked", it.not_checked);
}

} // namespace stopspan
