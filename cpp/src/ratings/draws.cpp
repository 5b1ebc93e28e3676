#include "ratings/draws.hpp"

#include "ratings/branch.hpp"

#include <utility>

namespace stopspan::ratings {
namespace {

constexpr double usual_supply_power_factor = 0.8; // and losses; no source
constexpr double usual_lamp_a = 0.02;

class Drawing {
public:
    explicit Drawing(const Ground &ground) : ground_(ground), ways_(ground.compiled, ground.lookup) {
        for (const Size &size : ground.out.values)
            if (size.quantity == "rated power")
                chosen_power_.try_emplace(size.subject, size.value);
        for (const Source &source : ground.compiled.sources)
            for (std::uint32_t p = 0; p < source.poles.size(); ++p)
                if (source.feed == Source::Feed::own) {
                    mains_.emplace(source.poles[p].net, source.device);
                    if (p == source.earthed)
                        earthed_.insert(source.poles[p].net);
                }
    }

    std::vector<Draw> draw() {
        for (std::uint32_t path = 0; path < ground_.paths.size(); ++path)
            add_motor(path);
        const std::size_t motors = out_.size();
        for (const LoadSeen &load : ground_.compiled.loads)
            add_other(load.device, load.a, load.b, load_input(ground_.device(load.device)));
        for (const Source &source : ground_.compiled.sources)
            if (source.feed != Source::Feed::own && source.feed_a != none && source.feed_b != none)
                add_other(source.device, source.feed_a, source.feed_b, supply_input(source));
        for (std::size_t i = motors; i < out_.size(); ++i)
            count_fuse(out_[i]);
        return std::move(out_);
    }

private:
    // The overload that carries the same current as an element, and what it lets through there.
    std::optional<double> overload_a(const MotorPath &path, const Element &here) const {
        std::optional<double> most;
        for (const Element &element : path.elements) {
            const Device &device = ground_.device(ground_.compiled.switches[element.contact].device);
            const bool one_speed = !(element.slow || element.fast) || !(here.slow || here.fast);
            if (device.kind != DeviceKind::overload ||
                !(one_speed || (element.slow && here.slow) || (element.fast && here.fast)))
                continue;
            if (const auto setting = device.number("setting_a"))
                most = std::max(most.value_or(0), *setting / element.share * here.share);
        }
        return most;
    }

    void add_motor(std::uint32_t index) {
        const MotorPath &path = ground_.paths[index];
        const MotorSizes &motor = ground_.motors[index];
        const std::string &name = ground_.motor_device(index).designation;
        const double rated_a = std::max(motor.rated_a, motor.slow_a);
        const auto line = overload_a(path, {.contact = 0});
        Draw made{.device = ground_.compiled.motors[path.motor].device,
                  .path = index,
                  .known = motor.rated_a > 0,
                  .summed = computed("rated current", rated_a, "A", name)};
        if (line && *line > rated_a)
            made.summed = {"overload setting", *line, "A", Origin::wired, "overload of " + name};
        const double fuse_a = line || !made.known ? 0 : branch_of(ground_, index).rating_a;
        made.alone_a = std::max(made.summed.value, fuse_a);
        find_lines(made, path.poles);
        for (const Element &element : path.elements) {
            const double running_a = motor.of_element_a(
                {.path = index, .share = element.share, .poles = 1, .slow = element.slow, .fast = element.fast});
            const double summed_a = std::max(running_a, overload_a(path, element).value_or(0));
            add_contact(made, element.contact, std::max(summed_a, fuse_a), summed_a);
        }
        out_.push_back(std::move(made));
    }

    SizeInput load_input(const Device &load) const {
        if (load.number("current_a"))
            return from_device(load, "current_a", "A");
        return assumed("current_a", load.kind == DeviceKind::lamp ? usual_lamp_a : 0, "A", load.designation);
    }

    SizeInput supply_input(const Source &source) const {
        const Device &device = ground_.device(source.device);
        const bool direct = source.feed == Source::Feed::ac_to_dc;
        auto power = device.number(direct ? "power_w" : "rating_va");
        if (const auto chosen = chosen_power_.find(device.designation); !power && chosen != chosen_power_.end())
            power = chosen->second;
        const double volts = source.primary_v > 0 ? source.primary_v : 230;
        return computed("primary current", power.value_or(0) / volts / (direct ? usual_supply_power_factor : 1), "A",
                        device.designation);
    }

    void add_other(std::uint32_t device, std::uint32_t a, std::uint32_t b, SizeInput input) {
        Draw made{.device = device, .known = input.value > 0, .alone_a = input.value, .summed = std::move(input)};
        std::set<std::uint32_t> poles;
        const auto contacts = ways_.from({a, b}, &poles);
        find_lines(made, poles);
        for (const std::uint32_t contact : contacts) {
            const std::uint32_t index = ground_.compiled.switches[contact].device;
            if (ground_.device(index).kind == DeviceKind::fuse && !std::ranges::count(made.fuses, index)) {
                made.fuses.push_back(index);
                ++behind_[index];
            }
            add_contact(made, contact, made.alone_a, made.summed.value);
        }
        out_.push_back(std::move(made));
    }

    // What the nearest fuse lets through.
    void count_fuse(Draw &draw) const {
        const auto count = [&](std::uint32_t fuse) {
            const auto motors = ground_.behind.find(fuse);
            return behind_.at(fuse) + (motors == ground_.behind.end() ? 0 : motors->second.size());
        };
        if (draw.fuses.empty())
            return;
        const std::uint32_t nearest = *std::ranges::min_element(draw.fuses, {}, count);
        draw.alone_a = std::max(draw.alone_a, ground_.device(nearest).number("rating_a").value_or(0));
        // Ahead of what shares it, too: the wire is protected by the fuse ahead of that.
        for (CurrentAt &at : draw.at)
            at.alone_a = draw.alone_a;
    }

    void find_lines(Draw &draw, const std::set<std::uint32_t> &poles) {
        for (const std::uint32_t net : poles)
            if (const auto found = mains_.find(net); found != mains_.end()) {
                draw.at.push_back(at(draw, found->second, net, draw.alone_a, draw.summed.value, true));
                if (!earthed_.contains(net))
                    draw.lines.insert(net);
            }
        draw.from_mains = !draw.lines.empty();
    }

    CurrentAt at(const Draw &draw, std::uint32_t device, std::uint32_t net, double alone_a, double summed_a,
                 bool feeds) const {
        return {device, net,       static_cast<std::uint32_t>(out_.size()), alone_a, summed_a, draw.summed.value,
                feeds,  draw.known};
    }

    void add_contact(Draw &draw, std::uint32_t index, double alone_a, double summed_a) {
        const Switch &contact = ground_.compiled.switches[index];
        const std::uint32_t a = ways_.steps(contact.a), b = ways_.steps(contact.b);
        draw.at.push_back(at(draw, contact.device, contact.a, alone_a, summed_a, a > b));
        draw.at.push_back(at(draw, contact.device, contact.b, alone_a, summed_a, b > a));
    }

    const Ground &ground_;
    Ways ways_;
    std::map<std::string, double, std::less<>> chosen_power_;
    std::map<std::uint32_t, std::uint32_t> mains_; ///< pole -> device
    std::set<std::uint32_t> earthed_;
    std::map<std::uint32_t, std::size_t> behind_; ///< fuse -> loads and supplies
    std::vector<Draw> out_;
};

} // namespace

std::vector<Draw> draws_of(const Ground &ground) {
    return Drawing(ground).draw();
}

std::optional<double> carried_together_a(std::span<const CurrentAt> at) {
    double sum_a = 0, alone_a = 0;
    for (std::size_t first = 0, next = 0; first < at.size(); first = next) {
        bool fed = false;
        for (; next < at.size() && at[next].draw == at[first].draw; ++next)
            fed |= at[next].feeds;
        double together_a = 0, of_device_a = 0; // several contacts of one device carry it one after another
        for (std::size_t i = first; i < next; ++i) {
            if (!at[i].known)
                return std::nullopt;
            alone_a = std::max(alone_a, at[i].alone_a);
            if (i > first && at[i].device != at[i - 1].device)
                together_a += std::exchange(of_device_a, 0);
            if (at[i].feeds == fed)
                of_device_a = std::max(of_device_a, at[i].summed_a);
        }
        sum_a += std::min(together_a + of_device_a, at[first].line_a);
    }
    return std::max(sum_a, alone_a);
}

} // namespace stopspan::ratings
