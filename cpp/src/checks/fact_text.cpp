#include "checks/fact_text.hpp"

#include "circuit/kinds.hpp"

#include <algorithm>

namespace stopspan {
namespace {

// The way it ran, where there is more than one.
std::string in_mode(const Fact &fact, bool one_way) {
    if (fact.mode.empty() || fact.mode == "run" || fact.mode == "maybe" || (one_way && fact.mode == "forward"))
        return "";
    return fact.mode == "forward" || fact.mode == "reverse" ? " running " + fact.mode
           : fact.mode == "single-phasing"                  ? " running on two phases"
                                                            : " in " + fact.mode;
}

std::string last_act(const Fact &fact) {
    return fact.acts.empty() ? "switching on" : fact.acts.back();
}

// As a replay takes them.
std::string replay_text(const std::vector<std::string> &acts) {
    std::string text;
    for (const std::string &act : acts)
        text += (text.empty() ? "" : "; ") + act;
    return text;
}

bool short_of_a_line(const Fact &fact) {
    return std::any_of(fact.acts.begin(), fact.acts.end(), [](const std::string &act) {
        return act.starts_with("blow ") || (act.starts_with("lose ") && act.find(':') != std::string::npos);
    });
}

} // namespace

std::string text_of(const std::string &rule, const std::string &subject, const std::string &machine, const Fact &fact,
                    bool one_way) {
    const bool maybe = fact.status == Status::maybe;
    const std::string starts = maybe ? " may start " : " starts ", mode = in_mode(fact, one_way);
    std::string text;
    if (rule == "stop-cuts") {
        if (fact.way == 1)
            text = subject + " stops " + machine + mode + " but leaves its terminals fed: torque off, power on" +
                   (fact.runs_on.empty() ? std::string()
                                         : "; after '" + replay_text(fact.runs_on) + "' " + machine + " may run on");
        else if (fact.way == 2)
            text = subject + " stops " + machine + mode +
                   "; one of its terminals stays live through a pole no contactor opens";
        else if (fact.way == 4)
            text = subject + " leaves the run command of " + machine +
                   " on until its power goes: a category 1 stop lets the drive stop it first";
        else if (fact.way == 3)
            text = subject + " has no contact in any circuit that runs " + machine + ", so it does not stop it";
        else
            text = subject + (maybe ? " may not stop " : " does not stop ") + machine + mode;
    } else if (rule == "stop-spares") {
        text = subject + (maybe ? " may cut " : " cuts ") + machine + ", which it must keep";
    } else if (rule == "stop-beats-start") {
        text = fact.way == 1
                   ? machine + (maybe ? " may run" : " runs") + " with " + subject + " actuated until " + last_act(fact)
                   : "With " + subject + " actuated, '" + last_act(fact) + "'" + starts + machine;
    } else if (rule == "power-return") {
        text = machine + (maybe ? " may start" : " starts") + " by itself when " + subject + " comes back";
    } else if (rule == "release-return" || rule == "trip-return") {
        text = "'" + last_act(fact) + "'" + starts + machine + " with no start given";
    } else if (rule == "own-start") {
        text = "'" + last_act(fact) + "'" + starts + machine + ", though " + subject + " is not its start device";
    } else if (rule == "overload-cuts" && fact.way == 2) {
        text = "With " + subject + " tripped, '" + last_act(fact) + "'" + starts + machine;
    } else if (rule == "overload-cuts") {
        text = "The trip of " + subject + (maybe ? " may not take" : " does not take") + " power off " + machine + mode;
    } else if (rule == "contact-race") {
        text =
            fact.way == 1
                ? "What follows '" + last_act(fact) + "' depends on how long its contact dwells open (" + subject + ")"
                : "After '" + last_act(fact) + "' what follows depends on which of " + subject + " moves first";
    } else {
        text = "After '" + last_act(fact) + "' " + subject + " never comes to rest";
    }
    if (fact.status == Status::note && (rule == "contact-race" || rule == "chatter"))
        text += short_of_a_line(fact) ? "; it takes a line lost by itself or a blown fuse"
                                      : "; it takes two buttons held together";
    else if (fact.status == Status::note && rule != "stop-cuts")
        text += " while another button is held (no anti-tie-down)";
    return text + ".";
}

std::string contact_text(const Circuit &circuit, const Switch &contact) {
    const Device &device = circuit.devices()[contact.device];
    const auto named = contact_at(device, contact.terminal);
    return named ? contact_text(device.designation, *named) : device.designation;
}

} // namespace stopspan
