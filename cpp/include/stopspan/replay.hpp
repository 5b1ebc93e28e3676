#pragma once

#include "stopspan/circuit.hpp"

#include <memory>
#include <string>
#include <string_view>
#include <vector>

namespace stopspan {

/// What a circuit does, act by act. Starts cold and settled: sources healthy, every hand off, nothing in.
/// Because a coil inside its band may do either, the state is a set; what differs within it is "maybe".
class Replay {
public:
    explicit Replay(const Circuit &circuit);
    Replay(const Replay &);
    Replay &operator=(const Replay &);
    Replay(Replay &&) noexcept;
    Replay &operator=(Replay &&) noexcept;
    ~Replay();

    /// Does one act or several separated by ';': "tap S1; latch ES1; elapse". The words are
    /// tap hold free latch unlatch turn lose restore open close trip cool reset blow replace elapse
    /// earth bridge break weld jam detach blind fresh. "detach ES1:11" is one block of ES1's. "free S1 slow" lets a
    /// change-over contact dwell.
    /// @throws Error (bad_act, unknown_name); nothing has then happened
    void act(std::string_view text);

    /// "runs" | "stopped" | "maybe" for motors, drives and machines; "on" | "off" | "maybe" for armatures,
    /// lamps and loads; "intact" | "blown" | "maybe" for fuses; position words for other devices.
    /// @throws Error (unknown_name)
    std::string state(std::string_view designation) const;
    /// "stopped", "run", "forward", "star", "single-phasing" ... or "maybe" for a motor.
    std::string mode(std::string_view motor) const;
    /// Net above 50 V to earth in some settled state. @throws Error (unknown_name)
    bool live(std::string_view net) const;
    /// Largest ratio of coil voltage to rated voltage over the settled states.
    double coil_ratio(std::string_view designation) const;
    /// What happened since the start: races, chatter, shorts cleared by the protection ahead.
    std::vector<std::string> notes() const;

private:
    struct Implementation;
    std::unique_ptr<Implementation> self_;
};

} // namespace stopspan
