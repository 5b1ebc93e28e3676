#include "base/number_text.hpp"
#include "ratings/cable_check.hpp"
#include "ratings/conductor.hpp"
#include "ratings/conductor_tables.hpp"
#include "ratings/draws.hpp"
#include "ratings/fault_loop.hpp"
#include "ratings/protection.hpp"

namespace stopspan::ratings {
namespace {

using Loads = std::map<std::uint32_t, std::vector<const Draw *>>; ///< by fuse

bool kept(const Ground &ground, const Draw &draw) {
    const Device &device = ground.device(draw.device);
    return device.kind == DeviceKind::load && device.flag("kept", false);
}

bool is_supply(const Ground &ground, const Draw &draw) {
    const DeviceKind kind = ground.device(draw.device).kind;
    return kind == DeviceKind::transformer || kind == DeviceKind::dc_supply;
}

// Times its rated current, while its core is magnetised; common practice, no source.
constexpr double transformer_inrush = 20;
constexpr double inrush_s = 0.1; // it is over sooner, but fuses have no gate there

std::string melts(std::string_view type, double rating_a, double inrush_a) {
    const bool carries = is_breaker(type) ? breaker_carries(rating_a, type, inrush_a, inrush_s)
                         : type == "aM"   ? am_carries_a(rating_a, inrush_s) >= inrush_a
                                          : fuse_carries_a(rating_a, inrush_s).value_or(0) >= inrush_a;
    return carries ? "" : "the inrush of " + amperes(inrush_a) + " may open it";
}

// A fuse with kept loads or control supplies alone behind it.
Size fuse_of(const Ground &ground, std::uint32_t index, const std::vector<const Draw *> &behind) {
    const Device &fuse = ground.device(index);
    const std::string type(fuse.word("fuse_type").value_or("gG"));
    Size size{.subject = fuse.designation,
              .quantity = "rated current of the protection",
              .unit = "A",
              .formula = "smallest that carries sum I for good",
              .source = is_breaker(type) ? "IEC 60898-1 (preferred ratings)" : "IEC 60269-1 (ratings of fuses)",
              .remark = "What is behind it may take more as it is switched on: ask its makers."};
    double current_a = 0, inrush_a = 0;
    for (const Draw *draw : behind) {
        size.inputs.push_back(draw->summed);
        current_a += draw->summed.value;
        if (ground.device(draw->device).kind == DeviceKind::transformer)
            inrush_a += transformer_inrush * draw->summed.value;
    }
    if (inrush_a > 0) {
        size.formula += " and the inrush of transformers, 20 times their current, for 0.1 s";
        size.inputs.push_back(assumed("inrush", inrush_a, "A", "20 times the current, no source"));
        size.source += "; IEC 60204-1:2016 7.2.7 (from memory)";
    }
    for (const double rating_a : protection_sizes_a(type)) {
        const std::string candidate = type + " " + format_number(rating_a) + " A";
        const std::string reason = rating_a < current_a ? "less than the running current of " + amperes(current_a)
                                   : inrush_a > 0       ? melts(type, rating_a, inrush_a)
                                                        : "";
        if (reason.empty()) {
            size.value = rating_a;
            size.choice = candidate;
            break;
        }
        size.rejected.push_back({candidate, reason});
    }
    if (const auto rating_a = fuse.number("rating_a")) {
        size.as_wired = *rating_a;
        size.fit = *rating_a >= current_a ? Fit::fits : Fit::does_not_fit;
    }
    return size;
}

std::optional<BoardId> board_of(const Description &description, const std::string &name) {
    if (!description.is_load(name))
        return std::nullopt;
    const KeptLoad &load = description[description.load(name)];
    return load.board ? load.board : description.board_of(load.area);
}

std::optional<SizeInput> length_to(const Ground &ground, const std::string &name) {
    const Description &description = ground.description;
    const auto id = board_of(description, name);
    if (!id || !description[*id].area)
        return std::nullopt;
    const KeptLoad &load = description[description.load(name)];
    const auto way_m = ground.way_m(*description[*id].area, description[*id].at, load.area, load.at);
    if (!way_m)
        return std::nullopt;
    return SizeInput{"cable length", *way_m, "m", Origin::plan,
                     "board " + description[*id].name + " to " + name +
                         " along the walls, 2 m down at either end (assumed)"};
}

void size_cable(Ground &ground, const Draw &draw, const std::map<std::uint32_t, Size> &fuses) {
    const Device &load = ground.device(draw.device);
    CableCase cable{.three_phase = false,
                    .to_earth_v = usual_to_earth_v,
                    .running_a = draw.summed.value,
                    .start_a = 0,
                    .must_carry_a = draw.summed.value,
                    .power_factor = 1,
                    .method = "B2",
                    .ambient_c = ground.options.ambient_c,
                    .running_drop_percent = ground.options.running_drop_percent,
                    .starting_drop_percent = ground.options.starting_drop_percent};
    SizeInput source = assumed("impedance_ohm", ground.options.source_impedance_ohm, "ohm",
                               "largest a supplier of a TN-C-S supply declares (from memory)");
    for (const CurrentAt &at : draw.at) {
        const Device &mains = ground.device(at.device);
        if (mains.kind != DeviceKind::mains_1ph && mains.kind != DeviceKind::mains_3ph)
            continue;
        cable.to_earth_v = mains.number("voltage_v").value_or(usual_to_earth_v);
        if (mains.number("impedance_ohm"))
            source = from_device(mains, "impedance_ohm", "ohm");
    }
    cable.source_ohm = source.value;
    const auto board = board_of(ground.description, load.designation);
    // Null where one of the cables up to its board is not known.
    const std::vector<CableAhead> *ahead = nullptr;
    if (board && ground.up_to_board[board->value])
        ahead = &*ground.up_to_board[board->value];
    if (ahead)
        for (const CableAhead &one : *ahead) {
            cable.source_ohm += loop_impedance_ohm(0, one.length_m, one.csa_mm2);
            cable.feeder_running_v += lost_ahead_v(one, one.running_a, cable.power_factor, false);
        }
    else if (board)
        ground.unknown(ground.description[*board].name, "the cables between the supply and it",
                       "drops and fault loops behind it are of the last cable alone");
    SizeInput carry = draw.summed;
    for (const std::uint32_t fuse : draw.fuses)
        if (const auto found = fuses.find(fuse); found != fuses.end()) {
            const double rating_a = found->second.as_wired.value_or(found->second.value);
            if (cable.protection_a > 0 && rating_a >= cable.protection_a)
                continue;
            cable.protection_a = rating_a;
            cable.protection_type = ground.device(fuse).word("fuse_type").value_or("gG");
            carry = {"protection", rating_a, "A", found->second.as_wired ? Origin::wired : Origin::computed,
                     found->second.subject};
            cable.must_carry_a = std::max(draw.summed.value, rating_a);
        }
    const auto length = length_to(ground, load.designation);
    if (length)
        cable.length_m = length->value;
    else
        ground.unknown(load.designation, "length of the cable to it", "what it drops, and disconnection");
    ground.unknown(load.designation, "method of the cable to it",
                   "its ampacity is that of method B2, cable in a conduit");
    Size size{.subject = load.designation,
              .quantity = "cable size",
              .unit = "mm2",
              .formula = length ? "smallest that carries, drops no more than allowed, disconnects in time and "
                                  "withstands the short circuit"
                                : "smallest that carries; its length is unknown",
              .inputs = {draw.summed, carry, assumed("ambient", cable.ambient_c, "degC", "of the whole call"),
                         assumed("grouped circuits", 1, "", "alone in its conduit"),
                         assumed("power factor", 1, "", "of heating; the most a thin cable drops")},
              .source = std::string(machine_cable_source) + "; D.1, D.2 (from memory); IEC 60364-4-41; IEC 60364-4-43"};
    if (length) {
        size.inputs.push_back(*length);
        size.inputs.push_back(source);
        if (ahead && !ahead->empty())
            size.inputs.push_back(
                computed("fault loop up to its board", cable.source_ohm, "ohm", ground.description[*board].name));
    }
    for (const double csa_mm2 : conductor_sizes_mm2()) {
        const CableJudged it = judge_cable(cable, csa_mm2);
        const std::string reasons = reasons_in_power_circuit(it);
        if (reasons.empty()) {
            size.value = csa_mm2;
            size.choice = "3 x " + format_number(csa_mm2) + " mm2, " + cable.method;
            break;
        }
        size.rejected.push_back({format_number(csa_mm2) + " mm2", reasons});
    }
    if (size.value <= 0)
        size.remark = "No size up to 120 mm2 does; give it a smaller protection or a shorter way.";
    ground.add(std::move(size));
}

} // namespace

void size_kept_loads(Ground &ground, const std::vector<Draw> &draws) {
    Loads behind;
    std::set<std::uint32_t> shared;
    for (const Draw &draw : draws)
        for (const std::uint32_t fuse : draw.fuses)
            if (draw.known && (kept(ground, draw) || is_supply(ground, draw)) && !ground.behind.contains(fuse))
                behind[fuse].push_back(&draw);
            else
                shared.insert(fuse);
    std::map<std::uint32_t, Size> fuses;
    for (const auto &[fuse, loads] : behind)
        if (!shared.contains(fuse))
            fuses.emplace(fuse, fuse_of(ground, fuse, loads));
    for (const auto &[fuse, size] : fuses)
        ground.add(size);
    for (const Draw &draw : draws)
        if (!kept(ground, draw))
            continue;
        else if (draw.known)
            size_cable(ground, draw, fuses);
        else
            ground.unknown(ground.device(draw.device).designation, "current_a", "its fuse and cable are not sized");
}

} // namespace stopspan::ratings
