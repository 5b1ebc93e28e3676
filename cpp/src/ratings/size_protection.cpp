#include "base/number_text.hpp"
#include "ratings/branch.hpp"
#include "ratings/protection.hpp"

#include <algorithm>

namespace stopspan::ratings {
namespace {

constexpr std::string_view gates = "IEC 60269-1 gates of gG fuses (from memory)";
constexpr std::string_view handbook =
    "handbook table of motor fuses, direct up to 6 I for 5 s, star-delta up to 2 I for 15 s";

} // namespace

std::string why_not(const ProtectionNeed &need, std::string_view type, double rating_a) {
    if (rating_a < need.running_a * (1 - 1e-9))
        return "less than the running current of " + amperes(need.running_a);
    const std::string start = "the start of " + amperes(need.start_a) + " for " + format_fixed(need.start_s, 1) + " s";
    if (is_breaker(type))
        return breaker_carries(rating_a, type, need.start_a, need.start_s) ? "" : start + " may trip it";
    if (type == "aM") {
        const double carries_a = am_carries_a(rating_a, need.start_s);
        return carries_a >= need.start_a ? "" : start + " may melt it: it carries " + amperes(carries_a);
    }
    if (need.handbook_a)
        return rating_a >= *need.handbook_a ? ""
                                            : "the handbook has " + format_number(*need.handbook_a) + " A for " + start;
    const auto carries_a = fuse_carries_a(rating_a, need.start_s);
    if (!carries_a)
        return "no size of gG fuses";
    return *carries_a >= need.start_a ? "" : start + " may melt it: it carries " + amperes(*carries_a);
}

ProtectionNeed need_of(const Ground &ground, const std::vector<Behind> &behind) {
    const Carried load = carried(ground, behind);
    ProtectionNeed need{load.running_a, load.running_a + load.start_more_a, load.start_s, std::nullopt};
    if (behind.size() == 1) {
        const MotorSizes &motor = ground.motors[behind.front().path];
        need.handbook_a = handbook_fuse_a(load.running_a, motor.start == Start::star_delta,
                                          need.start_a / std::max(1e-9, load.running_a), need.start_s);
    }
    return need;
}

std::optional<double> smallest_protection_a(const ProtectionNeed &need, std::string_view type,
                                            std::vector<Rejected> *rejected) {
    for (const double rating_a : protection_sizes_a(type)) {
        const std::string reason = why_not(need, type, rating_a);
        if (reason.empty())
            return rating_a;
        if (rejected)
            rejected->push_back({std::string(type) + " " + format_number(rating_a) + " A", reason});
    }
    return std::nullopt;
}

namespace {

Size protection(const Ground &ground, const std::vector<Behind> &behind, std::string_view type, std::string subject,
                std::string quantity) {
    const Carried load = carried(ground, behind);
    const ProtectionNeed need = need_of(ground, behind);
    Size size{.subject = std::move(subject),
              .quantity = std::move(quantity),
              .value = 0,
              .unit = "A",
              .formula = "smallest that carries sum I for good and the largest start beside the others",
              .inputs = load.inputs};
    size.inputs.push_back(computed("largest current while one starts", need.start_a, "A", "motors behind it"));
    size.inputs.push_back(computed("starting time", need.start_s, "s", "motors behind it"));
    size.source = is_breaker(type)  ? "IEC 60898-1 (bands of the instantaneous release)"
                  : type == "aM"    ? "IEC 60269-1 (aM, from memory)"
                  : need.handbook_a ? std::string(handbook)
                                    : std::string(gates);
    if (const auto rating_a = smallest_protection_a(need, type, &size.rejected)) {
        size.value = *rating_a;
        size.choice = std::string(type) + " " + format_number(*rating_a) + " A";
    } else {
        size.remark = "None of the sizes known here carries this start.";
    }
    return size;
}

} // namespace

Branch branch_of(const Ground &ground, std::uint32_t path) {
    Branch branch;
    std::size_t fewest = 0;
    for (const Element &element : ground.paths[path].elements) {
        const std::uint32_t index = ground.compiled.switches[element.contact].device;
        const std::size_t behind = ground.behind.at(index).size();
        if (ground.device(index).kind == DeviceKind::fuse && (!branch.device || behind < fewest)) {
            branch.device = index;
            fewest = behind;
        }
    }
    if (branch.device) {
        const Device &device = ground.device(*branch.device);
        branch.type = device.word("fuse_type").value_or("gG");
        branch.rating_a = device.number("rating_a").value_or(0);
        branch.wired = branch.rating_a > 0;
    }
    if (branch.rating_a <= 0) {
        const std::vector<Behind> alone = branch.device ? ground.behind.at(*branch.device)
                                                        : std::vector<Behind>{{.path = path, .share = 1, .poles = 1}};
        branch.rating_a = smallest_protection_a(need_of(ground, alone), branch.type, nullptr).value_or(0);
    }
    return branch;
}

void size_protection(Ground &ground) {
    for (const auto &[index, behind] : ground.behind) {
        const Device &device = ground.device(index);
        if (device.kind != DeviceKind::fuse || carried(ground, behind).running_a <= 0)
            continue;
        const std::string type(device.word("fuse_type").value_or("gG"));
        Size size = protection(ground, behind, type, device.designation, "rated current of the protection");
        if (!device.word("fuse_type"))
            ground.unknown(device.designation, "fuse_type", "gG is assumed");
        if (const auto rating_a = device.number("rating_a")) {
            size.as_wired = *rating_a;
            const std::string reason = why_not(need_of(ground, behind), type, *rating_a);
            size.fit = !carried(ground, behind).complete ? Fit::not_compared
                       : reason.empty()                  ? Fit::fits
                                                         : Fit::does_not_fit;
            if (!reason.empty())
                size.remark = "As wired: " + reason + ".";
        } else {
            ground.unknown(device.designation, "rating_a", "whether it carries the start");
        }
        ground.add(std::move(size));
    }
    for (std::uint32_t path = 0; path < ground.paths.size(); ++path) {
        if (ground.motors[path].rated_a <= 0 || branch_of(ground, path).device)
            continue;
        Size size = protection(ground, {{.path = path, .share = 1, .poles = 1}}, "gG",
                               ground.motor_device(path).designation, "fuse ahead of the motor");
        size.remark = "No fuse or circuit-breaker stands on its way from the supply in the circuit.";
        ground.add(std::move(size));
    }
}

} // namespace stopspan::ratings
