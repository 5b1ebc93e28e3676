#include "measure.hpp"

#include <algorithm>
#include <cmath>
#include <ctime>
#include <fstream>
#include <string>

#if defined(__GLIBC__)
#include <malloc.h>
#endif

namespace stopspan::bench {
namespace {

// A line of what Linux tells of this process, in kB; 0 elsewhere.
double status_kb(const std::string &line) {
    std::ifstream status("/proc/self/status");
    for (std::string word; status >> word;)
        if (word == line) {
            double kb = 0;
            status >> kb;
            return kb;
        }
    return 0;
}

double processor_ms() {
    return 1000.0 * static_cast<double>(std::clock()) / CLOCKS_PER_SEC;
}

} // namespace

Cost cost_of(const std::function<void()> &work) {
#if defined(__GLIBC__)
    malloc_trim(0); // memory kept from before would hide what this takes
#endif
    std::ofstream("/proc/self/clear_refs") << "5"; // the peak begins anew
    const double before_kb = status_kb("VmRSS:"), processor_before_ms = processor_ms();
    const auto start = Clock::now();
    work();
    return {since_ms(start), processor_ms() - processor_before_ms, (status_kb("VmHWM:") - before_kb) / 1024};
}

Cost best_of(const Cost &a, const Cost &b) {
    return {std::min(a.wall_ms, b.wall_ms), std::min(a.processor_ms, b.processor_ms), std::min(a.peak_mb, b.peak_mb)};
}

double Growth::exponent(double Cost::*what) const {
    double x = 0, y = 0, xx = 0, xy = 0;
    const auto n = static_cast<double>(costs_.size());
    for (const auto &[size, cost] : costs_) {
        const double lx = std::log(static_cast<double>(size)), ly = std::log(cost.*what);
        x += lx;
        y += ly;
        xx += lx * lx;
        xy += lx * ly;
    }
    return (n * xy - x * y) / (n * xx - x * x);
}

} // namespace stopspan::bench
