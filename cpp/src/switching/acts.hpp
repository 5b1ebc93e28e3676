#pragma once

#include "switching/settling.hpp"

#include <string>
#include <vector>

namespace stopspan {

enum class ActKind : std::uint8_t {
    press,   ///< hold, latch, turn on
    release, ///< free, unlatch, turn off
    lose,
    restore,
    open,
    close,
    trip,
    cool,
    reset,
    blow,
    replace,
    elapse,
    fail ///< a fault happens
};

/// Something a person or the world can do to one device.
struct Act {
    ActKind kind;
    std::uint32_t variable = none; ///< none: all sources
    std::uint8_t from = 0;         ///< position it needs
    std::vector<std::uint8_t> to;  ///< positions it goes through, each one settled
    bool slow = false;             ///< a change-over contact that dwells between
    std::string text;              ///< "hold S1"
};

/// How a circuit's devices are called and used: what acts need beside the compiled form.
struct ActorInfo {
    std::string designation;
    Action action = Action::momentary;
    Role role = Role::none;
    bool changes_over = false; ///< has break and make blocks
    bool early_make = false;   ///< isolator with a make auxiliary contact
    bool automatic = false;    ///< overload
};
ActorInfo actor_info(const Compiled &circuit, std::uint32_t variable, const Device &device);

/// Every act the variables of a circuit allow. At most one thing is taken away at a time: a source, one of its
/// line poles, all sources, or a fuse.
std::vector<Act> possible_acts(const Compiled &circuit, const std::vector<ActorInfo> &actors);
/// It takes one line pole of a source away, and leaves others.
bool takes_one_pole(const Act &act, const Compiled &circuit);
bool allowed(const Act &act, const Compiled &circuit, const State &state);
/// The settled states after an act, from one settled state.
Settled perform(Settler &settler, const State &state, const Act &act);

/// Do the ends of a slow act differ from those of the fast one? Both as Settled::sure; where there is no end at all it
/// is chatter.
bool dwelling_matters(const std::vector<State> &fast, const std::vector<State> &slow);

/// No source or pole lost, no fuse blown.
bool supply_healthy(const Compiled &circuit, const State &state);

/// A source has lost one of its line poles and has others, or a fuse has blown: what else is fed may feed back there.
bool short_of_a_line(const Compiled &circuit, const State &state);

/// A source that has lost all its poles but the earthed one.
std::uint8_t lost_mask(const Source &source);

} // namespace stopspan
