#pragma once

#include "stopspan/circuit.hpp"

namespace stopspan {

/// Moves wires and leaves the nets in whatever order they come, those without a terminal among them, until they are put
/// in order: on a large site that takes longer than all else.
class LooseNets {
public:
    /// Circuit::connect() otherwise. @throws Error as that
    static void connect(Circuit &circuit, std::string_view designation, std::string_view terminal,
                        std::string_view net) {
        (void)circuit.move(designation, terminal, net);
    }
    static void put_in_order(Circuit &circuit) { circuit.number_nets_again(); }
};

} // namespace stopspan
