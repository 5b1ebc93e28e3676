#pragma once

#include "checks/context.hpp"
#include "checks/machine_search.hpp"
#include "checks/stop_rows.hpp"

#include <bit>
#include <tuple>

namespace stopspan {

/// What is told of a thing without its name; the same for what is the same.
using Word = std::uint64_t;

inline Word mixed(Word a, Word b) { // the finaliser of splitmix64, so that sums of these are as good as told apart
    Word x = a * 0x9e3779b97f4a7c15U + b;
    x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9U;
    x = (x ^ (x >> 27)) * 0x94d049bb133111ebU;
    return x ^ (x >> 31);
}
inline Word word_of(double value) {
    return std::bit_cast<Word>(value);
}

/// Numbers what stands around a machine by what it looks like, whatever it is called. What looks the same from all
/// sides is numbered as it comes: if that is not how it comes at another machine, the two are merely not seen to be
/// alike.
class SurroundingsOrder {
public:
    /// @param makes  per device: the same number for the same kind and parameters
    /// @param fault  or null. What stands in a row between two of its nets, or an end of the row and one, is one net
    ///               with all of its contacts at it: which comes first does not matter
    SurroundingsOrder(const Context &context, const MachineSeen &machine, const std::vector<std::uint32_t> &makes,
                      const StopRows *rows, const Fault *fault);

    const Reach &reach() const { return reach_; } ///< with all poles of its sources
    /// Of the whole circuit, as they are numbered.
    const std::vector<std::uint32_t> &nets() const { return net_order_; }
    const std::vector<std::uint32_t> &variables() const { return variable_order_; }
    /// The number of a net or variable, or none.
    std::uint32_t number_of_net(std::uint32_t net) const;
    std::uint32_t number_of_variable(std::uint32_t variable) const;
    /// More hangs on this net than what stands around the machine. @pre it is around
    bool is_shared(std::uint32_t net) const { return nets_[net_place(net)].shared; }
    /// The numbers of the nets at a contact's ends; of one in a row both that of the row.
    std::pair<Word, Word> ends_of(std::uint32_t contact) const;
    /// Contacts in a row by numbers of nets: where all of it stands, and its ends.
    std::vector<std::array<Word, 3>> rows() const;
    /// What tells contacts, loads and variables from others, but for where they stand.
    static Word label_of(const Switch &contact) {
        return mixed(contact.closed_at, contact.pole ? 3 : contact.variable == none ? 2 : 1);
    }
    Word label_of(const Impedance &load) const;
    Word label_of(std::uint32_t variable) const;

private:
    struct OfNet {
        Word looks = 0, next = 0;
        bool shared = false;
        bool gathered = false; ///< into another net of its row
        std::uint32_t number = none;
    };
    struct OfVariable {
        Word looks = 0, next = 0;
        std::uint32_t number = none;
    };
    /// Contacts in a row, all by their places in reach_.
    struct Row {
        std::uint32_t at, from, to;
    };
    /// A contact or load as seen from one of its nets; all by their places in reach_.
    struct End {
        std::uint32_t to, variable;
        Word label;
    };

    static std::uint32_t place(const std::vector<std::uint32_t> &all, std::uint32_t index);
    std::uint32_t net_place(std::uint32_t net) const { return net == none ? none : place(reach_.nets, net); }
    std::uint32_t variable_place(std::uint32_t v) const { return v == none ? none : place(reach_.variables, v); }
    std::pair<std::uint32_t, std::uint32_t> end_places(std::uint32_t contact) const;
    std::uint32_t variable_of_fault() const;
    bool all_here(std::uint32_t net) const;
    void add_sources();
    void gather_rows(const StopRows &rows);
    void gather_row(const StopRows &rows, std::uint32_t row);
    void list_ends();
    void look();
    void look_around();
    void number();

    const Context &context_;
    const Compiled &full_;
    const MachineSeen &machine_;
    const std::vector<std::uint32_t> &makes_;
    const Fault *fault_; ///< or null
    Reach reach_;
    std::vector<OfNet> nets_;           ///< as in reach_
    std::vector<OfVariable> variables_; ///< as in reach_
    std::vector<std::vector<End>> ends_;
    std::vector<std::tuple<std::uint32_t, std::uint32_t, std::uint32_t, Word>> contacts_of_;
    std::map<std::uint32_t, std::uint32_t> row_at_; ///< per contact of a row: where all of it stands
    std::vector<Row> rows_;
    std::vector<std::uint32_t> net_order_, variable_order_; ///< by places while they are numbered
};

} // namespace stopspan
