#include "switching/nodal.hpp"

#include <Eigen/Dense>

namespace stopspan {
namespace {

// To earth from every unknown: gives a floating island a middle to float about and keeps the matrix regular
// where direct current has no path. Far below any coil (1e-4 S) or cable capacitance (1e-6 S).
constexpr double leak_siemens = 1e-12;

template <class Matrix, class Vector, class Value>
void stamp(Matrix &left, Vector &right, std::uint32_t a, std::uint32_t b, Value admittance, Value b_minus_a) {
    // current out of a: y * (va + oa - vb - ob)
    const auto side = [&](std::uint32_t here, std::uint32_t there, Value offset) {
        if (here == none)
            return;
        left(here, here) += admittance;
        if (there != none)
            left(here, there) -= admittance;
        right(here) += admittance * offset;
    };
    side(a, b, b_minus_a);
    side(b, a, -b_minus_a);
}

} // namespace

struct Nodal::Equations {
    Eigen::MatrixXcd ac_left;
    Eigen::VectorXcd ac_right, ac;
    Eigen::MatrixXd dc_left;
    Eigen::VectorXd dc_right, dc;
};

Nodal::Nodal(std::size_t unknowns) : equations_(std::make_unique<Equations>()) {
    const auto n = static_cast<Eigen::Index>(unknowns);
    equations_->ac_left = Eigen::MatrixXcd::Identity(n, n) * leak_siemens;
    equations_->ac_right = Eigen::VectorXcd::Zero(n);
    equations_->dc_left = Eigen::MatrixXd::Identity(n, n) * leak_siemens;
    equations_->dc_right = Eigen::VectorXd::Zero(n);
}

Nodal::~Nodal() = default;

void Nodal::add(std::uint32_t a, Volts offset_a, std::uint32_t b, Volts offset_b, std::complex<double> ac_siemens,
                double dc_siemens) {
    if (a == b)
        return;
    const Volts difference = offset_b - offset_a;
    stamp(equations_->ac_left, equations_->ac_right, a, b, ac_siemens, difference.ac);
    stamp(equations_->dc_left, equations_->dc_right, a, b, dc_siemens, difference.dc);
}

void Nodal::solve() {
    equations_->ac = equations_->ac_left.partialPivLu().solve(equations_->ac_right);
    if (equations_->dc_right.isZero(0))
        equations_->dc = Eigen::VectorXd::Zero(equations_->dc_right.size());
    else
        equations_->dc = equations_->dc_left.partialPivLu().solve(equations_->dc_right);
}

Volts Nodal::volts(std::size_t unknown) const {
    const auto i = static_cast<Eigen::Index>(unknown);
    return {equations_->ac(i), equations_->dc(i)};
}

} // namespace stopspan
