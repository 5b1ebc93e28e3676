#pragma once

#include "circuit/compiled.hpp"

#include <map>
#include <span>
#include <vector>

namespace stopspan {

/// Which poles' currents can come to each net, where Structure's free contacts do not tell enough: on one way to it a
/// device stands in one position, with all its contacts. What comes from one line through a motor does not go on into
/// another line's conductor: the contactor that let it in joins that to its own pole. A source that lives from another
/// gives nothing where nothing drives a current through its feed.
class FeedingPoles {
public:
    /// @param positions  per variable: those it can be in (bit set), as Structure has them
    FeedingPoles(const Compiled &circuit, std::vector<std::uint8_t> positions);

    /// Nothing drives a current through a load between these nets: all that comes there comes from one and the same
    /// pole, and has no way back.
    bool nothing_between(std::uint32_t a, std::uint32_t b) const;

private:
    struct Edge {
        std::uint32_t to, variable; ///< none: always there
        std::uint8_t closed_at;
        bool conductor;
    };
    /// Of a way: variables that it takes in fewer positions than they can be in. Sorted.
    using Taken = std::vector<std::pair<std::uint32_t, std::uint8_t>>;
    struct Arrival {
        std::uint32_t net;
        Taken taken;
    };
    std::uint8_t left(const Taken &taken, std::uint32_t variable) const;
    bool asks_no_more(const Taken &one, const Taken &other) const;
    /// Whenever this way is there the net is one with another pole: what goes on comes from that one. Where it is one
    /// with this pole, too, the only mains is shorted: it gives nothing then, nor does what it feeds.
    bool stands_on_another(const Arrival &arrival, std::uint32_t pole);
    void follow_all(const Compiled &circuit, const std::vector<std::uint8_t> &dead);
    void find_pieces(std::vector<std::vector<std::uint32_t>> &nets_of);
    void follow(std::uint32_t pole, std::span<const std::uint32_t> from);

    static constexpr std::uint32_t several = none - 1;
    std::vector<std::uint8_t> positions_;
    std::vector<std::vector<Edge>> edges_;   ///< per net
    std::vector<std::uint32_t> pole_at_;     ///< per net, or none; 0 is earth and every earthed pole
    std::vector<std::uint8_t> on_one_;       ///< per net: it hangs on one pole, or on none
    std::vector<std::uint8_t> of_the_mains_; ///< per pole: of the only source that lives from no other
    std::vector<std::uint32_t> comes_;       ///< per net: from the only pole, none or several
    std::vector<std::uint32_t> mark_;
    std::uint32_t round_ = 0;
};

} // namespace stopspan
