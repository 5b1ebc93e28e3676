#include "circuit/cut_out.hpp"

#include <algorithm>
#include <unordered_map>

namespace stopspan {

class PartOfCircuit {
public:
    static Circuit of(const Circuit &whole, std::span<const TakenDevice> devices, std::span<const SharedNet> shared) {
        Circuit part;
        std::unordered_map<std::uint32_t, Circuit::Spot> first_use; // per net of the whole
        for (const SharedNet &each : shared)
            first_use.emplace(each.net.value, Circuit::Spot{each.device, each.terminal});
        part.devices_.reserve(devices.size());
        for (const TakenDevice &taken : devices) {
            const Device &device = whole.devices_[taken.device];
            part.device_index_.emplace(device.designation, static_cast<std::uint32_t>(part.devices_.size()));
            Device &copy = part.devices_.emplace_back(Device{device.designation, device.kind, {}, device.parameters});
            const auto take = [&](std::uint32_t t) {
                copy.terminals.push_back(device.terminals[t]);
                first_use.try_emplace(device.terminals[t].net.value, Circuit::Spot{taken.device, t});
            };
            if (taken.terminals)
                std::for_each(taken.terminals->begin(), taken.terminals->end(), take);
            else
                for (std::uint32_t t = 0; t < device.terminals.size(); ++t)
                    take(t);
        }
        number_nets(part, whole, first_use);
        return part;
    }

private:
    static void number_nets(Circuit &part, const Circuit &whole,
                            const std::unordered_map<std::uint32_t, Circuit::Spot> &first_use) {
        constexpr std::uint32_t unused = static_cast<std::uint32_t>(-1);
        std::unordered_map<std::uint32_t, std::uint32_t> number;
        for (const Device &device : part.devices_)
            for (const Device::Terminal &terminal : device.terminals)
                number.emplace(terminal.net.value, unused);
        std::vector<std::uint32_t> nets;
        for (const auto &[net, none_yet] : number)
            nets.push_back(net);
        std::sort(nets.begin(), nets.end(),
                  [&](std::uint32_t a, std::uint32_t b) { return first_use.at(a) < first_use.at(b); });
        for (const std::uint32_t net : nets) {
            number[net] = static_cast<std::uint32_t>(part.nets_.size());
            part.net_index_.emplace(whole.nets_[net], number[net]);
            part.nets_.push_back(whole.nets_[net]);
        }
        part.first_use_.assign(nets.size(), {unused, unused});
        for (std::uint32_t d = 0; d < part.devices_.size(); ++d)
            for (std::uint32_t t = 0; t < part.devices_[d].terminals.size(); ++t) {
                NetId &net = part.devices_[d].terminals[t].net;
                net = {number.at(net.value)};
                part.first_use_[net.value] = std::min(part.first_use_[net.value], {d, t});
            }
    }
};

Circuit cut_out(const Circuit &whole, std::span<const TakenDevice> devices, std::span<const SharedNet> shared) {
    return PartOfCircuit::of(whole, devices, shared);
}

} // namespace stopspan
