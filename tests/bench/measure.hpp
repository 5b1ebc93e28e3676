#pragma once

#include <chrono>
#include <cstddef>
#include <functional>
#include <vector>

namespace stopspan::bench {

using Clock = std::chrono::steady_clock;

inline double since_ms(Clock::time_point start) {
    return std::chrono::duration<double, std::milli>(Clock::now() - start).count();
}

/// What a piece of work takes.
struct Cost {
    double wall_ms = 0;
    double processor_ms = 0; ///< of all threads; other programs on the machine add nothing to it
    double peak_mb = 0;      ///< most memory resident at once, over what was before; 0 where it cannot be told
};
Cost cost_of(const std::function<void()> &work);
Cost best_of(const Cost &a, const Cost &b);

/// Costs at several sizes.
class Growth {
public:
    void add(std::size_t size, const Cost &cost) { costs_.emplace_back(size, cost); }
    /// Slope of the straight line fitted by least squares to the logarithms of size and cost: 1 is in proportion.
    double exponent(double Cost::*what) const;

private:
    std::vector<std::pair<std::size_t, Cost>> costs_;
};

} // namespace stopspan::bench
