#include "base/words.hpp"
#include "stopspan/description.hpp"

namespace stopspan {
namespace {

constexpr std::array<std::string_view, 9> starter_words{
    "one-phase-in-line", "one-phase-one-pole", "one-phase-two-pole", "direct",
    "reversing",         "star-delta",         "two-speed",          "drive",
    "as-found"};
constexpr std::array<std::string_view, 4> method_words{"B1", "B2", "C", "E"};
constexpr std::array<std::string_view, 3> control_words{"same-supply", "dc-supply", "transformer"};
constexpr std::array<std::string_view, 3> place_words{"machine", "wall", "floor"};
constexpr std::array<std::string_view, 5> link_words{"series-chain", "zone-relay", "zone-contactor", "contact-blocks",
                                                     "stop-relay"};

constexpr std::array<std::string_view, 2> result_words{"fail", "pass"};

} // namespace

std::string_view to_text(Starter starter) {
    return starter_words[static_cast<std::size_t>(starter)];
}
Starter starter(std::string_view text) {
    return from_word<Starter>(starter_words, text, "starter");
}
std::string_view to_text(CableMethod method) {
    return method_words[static_cast<std::size_t>(method)];
}
CableMethod cable_method(std::string_view text) {
    return from_word<CableMethod>(method_words, text, "cable method");
}
std::string_view to_text(ControlSupply control) {
    return control_words[static_cast<std::size_t>(control)];
}
ControlSupply control_supply(std::string_view text) {
    return from_word<ControlSupply>(control_words, text, "control supply");
}
std::string_view to_text(Place place) {
    return place_words[static_cast<std::size_t>(place)];
}
Place place(std::string_view text) {
    return from_word<Place>(place_words, text, "place");
}
std::string_view to_text(ZoneLink link) {
    return link_words[static_cast<std::size_t>(link)];
}
ZoneLink zone_link(std::string_view text) {
    return from_word<ZoneLink>(link_words, text, "zone link");
}

std::string_view to_text(TestResult result) {
    return result_words[static_cast<std::size_t>(result)];
}
TestResult test_result(std::string_view text) {
    return from_word<TestResult>(result_words, text, "result of a trial");
}

} // namespace stopspan
