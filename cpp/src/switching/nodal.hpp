#pragma once

#include "circuit/compiled.hpp"

#include <memory>

namespace stopspan {

/// Nodal analysis of one island: complex at the source's frequency, real at direct current.
class Nodal {
public:
    explicit Nodal(std::size_t unknowns);
    Nodal(const Nodal &) = delete;
    Nodal &operator=(const Nodal &) = delete;
    ~Nodal();
    /// An admittance between two places. A place is unknown `i` plus an offset, or (i == none) the offset alone.
    void add(std::uint32_t a, Volts offset_a, std::uint32_t b, Volts offset_b, std::complex<double> ac_siemens,
             double dc_siemens);
    void solve();
    Volts volts(std::size_t unknown) const;

private:
    struct Equations;
    std::unique_ptr<Equations> equations_;
};

} // namespace stopspan
