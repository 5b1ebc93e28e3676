#include "ratings/stop_reliability.hpp"

#include "base/number_text.hpp"
#include "base/words.hpp"
#include "ratings/reliability.hpp"

#include <algorithm>
#include <cmath>

namespace stopspan::ratings {
namespace {

using enum SafetyCategory;

constexpr double direct_monitoring = 0.99; // ISO 13849-1 table E.1: mechanically linked contacts, cross monitoring
constexpr double enough_common_cause = 65; // annex F
constexpr double least_years = 3, most_years = 100, most_years_of_four = 2500, high_years = 30, low_coverage = 0.6,
                 high_coverage = 0.99;
constexpr double per_month = 12;             // how often a device is used whose faults show by its use, for e
constexpr double frequently_per_year = 8760; // ISO/TR 24119: more than once an hour

struct PartChannel {
    std::vector<StopPart> parts;
    std::optional<double> years;
};

/// One stop of one machine, worked through the standard step by step.
class Judging {
public:
    Judging(Ground &ground, const Context &context, const StopFunction &function, PartLives &lives,
            const CommonCause &common_cause)
        : ground_(ground), context_(context), function_(function), lives_(lives), common_cause_(common_cause) {}

    StopReliability judge() {
        if (!function_.works) {
            out_.faults.push_back({"surely stops it", 0, "", Origin::wired, "its structure and states"});
            out_.remarks.push_back("It does not surely stop it: see the check.");
            return std::move(out_);
        }
        split_parts();
        out_.judged = function_.known && !(series_.empty() && pairs_.empty() && makers_.empty());
        if (!out_.judged) {
            out_.faults.push_back({"parts found", 0, "", Origin::wired, "what faults do"});
            out_.remarks.push_back(!function_.known
                                       ? "It acts through more contactors and relays than are tried."
                                       : "No fault of a part was found that takes it away: every one of "
                                         "its parts is left out, or it takes more of them than are tried.");
            return std::move(out_);
        }
        out_.faults.push_back({"faults that take it away alone", static_cast<double>(function_.alone.size()), "",
                               Origin::wired, listed_in_short_or("none", function_.alone)});
        const SafetyCategory structure = by_faults();
        find_lives();
        out_.category = counted_ = by_numbers(structure);
        for (const Maker &maker : makers_)
            out_.category = std::min(out_.category, maker.category.value_or(b));
        find_rate();
        return std::move(out_);
    }

private:
    struct Maker {
        std::string name;
        std::optional<double> per_h;
        std::optional<SafetyCategory> category;
    };
    struct Pair {
        PartChannel a, b; ///< of more than two channels the two that last least
    };

    static std::string listed_in_short_or(const char *none_text, const std::vector<std::string> &words) {
        return words.empty() ? none_text : listed_in_short(words);
    }
    std::string name(const StopPart &part) const {
        return ground_.device(part.device).designation + (part.terminal.empty() ? "" : ":" + part.terminal);
    }
    bool is_of_maker(const StopPart &part) const {
        const DeviceKind kind = ground_.device(part.device).kind;
        return kind == DeviceKind::stop_relay || kind == DeviceKind::drive;
    }

    // What has channels inside is worth what its maker says, wherever it stands.
    void split_parts() {
        for (const StopPart &part : function_.series)
            take(part, series_);
        for (const RedundantParts &redundant : function_.redundant) {
            std::vector<PartChannel> channels;
            for (const auto &parts : redundant.channels) {
                PartChannel channel;
                for (const StopPart &part : parts)
                    take(part, channel.parts);
                channels.push_back(std::move(channel));
            }
            if (std::any_of(channels.begin(), channels.end(), [](const PartChannel &one) { return one.parts.empty(); }))
                continue; // the maker's device is what counts there
            more_channels_.push_back(std::move(channels));
        }
        pairs_.resize(more_channels_.size());
    }

    void take(const StopPart &part, std::vector<StopPart> &ours) {
        if (!is_of_maker(part)) {
            ours.push_back(part);
            return;
        }
        const Device &device = ground_.device(part.device);
        if (std::any_of(makers_.begin(), makers_.end(),
                        [&](const Maker &maker) { return maker.name == device.designation; }))
            return;
        Maker maker{device.designation, device.number("dangerous_failures_per_h"), {}};
        if (const auto category = device.word("safety_category"))
            maker.category = safety_category(*category);
        for (const auto &[parameter, known] : {std::pair{"dangerous_failures_per_h", maker.per_h.has_value()},
                                               {"safety_category", maker.category.has_value()}})
            if (!known)
                ground_.unknown(device.designation, parameter, "the performance level of stops through it");
        makers_.push_back(std::move(maker));
    }

    void reject(SafetyCategory category, const std::string &reason) {
        out_.rejected.push_back({"category " + std::string(to_text(category)), reason});
    }

    // The highest category that faults allow, whatever the numbers say.
    SafetyCategory by_faults() {
        std::vector<std::string> alone = function_.alone;
        for (const StopPart &part : series_)
            if (alone.empty())
                alone.push_back("a fault of " + name(part));
        reject(two, "nothing tests it between two uses 100 times as often as it is used");
        if (!alone.empty()) {
            reject(three, "one fault takes the stop away: " + listed_in_short(alone));
            return one;
        }
        out_.faults.push_back({"second faults, after one that shows nowhere, that take it away",
                               static_cast<double>(function_.hidden.size()), "", Origin::wired,
                               function_.hidden.empty()
                                   ? "none"
                                   : function_.hidden.front().first + " and then " + function_.hidden.front().second});
        if (!function_.hidden.empty()) {
            reject(four, "a fault that shows nowhere and a second one take the stop away: " +
                             function_.hidden.front().first + " and " + function_.hidden.front().second);
            return three;
        }
        if (!function_.hidden_decided) {
            reject(four, "not every second fault after one that shows nowhere was decided");
            return three;
        }
        return four;
    }

    void find_lives() {
        for (std::size_t i = 0; i < pairs_.size(); ++i) {
            for (PartChannel &channel : more_channels_[i])
                channel.years = years_of(channel.parts);
            std::stable_sort(
                more_channels_[i].begin(), more_channels_[i].end(),
                [](const PartChannel &x, const PartChannel &y) { return x.years.value_or(0) < y.years.value_or(0); });
            pairs_[i] = {more_channels_[i][0], more_channels_[i][1]};
        }
        series_years_ = years_of(series_);
    }

    std::optional<double> years_of(const std::vector<StopPart> &parts) {
        std::vector<double> years;
        bool known = true;
        for (const StopPart &part : parts) {
            const auto its = lives_.mttfd_years(part.device);
            known &= its.has_value();
            if (!its)
                continue;
            years.push_back(*its);
            SizeInput input = computed("MTTFd", *its, "years", name(part));
            if (std::find(out_.mttfd_inputs.begin(), out_.mttfd_inputs.end(), input) == out_.mttfd_inputs.end())
                out_.mttfd_inputs.push_back(std::move(input));
        }
        return known && !years.empty() ? std::optional(channel_mttfd_years(years)) : std::nullopt;
    }

    /// Coverage of a part's faults. Where they show by its use alone it must be used, and devices in the same row take
    /// part of that away.
    double coverage_of(const StopPart &part) {
        double coverage = part.shows == StopPart::Shows::nowhere ? 0 : direct_monitoring;
        std::string shows = part.shows == StopPart::Shows::nowhere  ? ": its fault shows nowhere"
                            : part.shows == StopPart::Shows::itself ? ": its fault shows by itself or at the next start"
                                                                    : ": its fault shows once it was used";
        if (part.shows == StopPart::Shows::once_used) {
            const auto per_year = lives_.operations_per_year(part.device);
            if (const double hidden = coverage_in_its_row(part); hidden < coverage) {
                coverage = hidden;
                masked_ = true;
                shows += ", and others in its row can hide it: " + std::to_string(function_.rows_shared_with.size()) +
                         " (ISO/TR 24119, written for guards)";
            }
            rarely_used_ |= per_year.value_or(0) < per_month;
            if (per_year.value_or(0) < 1)
                coverage = 0;
        }
        SizeInput input{"coverage", coverage, "", Origin::wired, name(part) + shows};
        if (std::find(out_.coverage_inputs.begin(), out_.coverage_inputs.end(), input) == out_.coverage_inputs.end())
            out_.coverage_inputs.push_back(std::move(input));
        return coverage;
    }

    // One of which nobody said how often it is used counts as used often.
    double coverage_in_its_row(const StopPart &part) {
        std::size_t frequent = 0, others = 0;
        const auto count = [&](std::uint32_t device) {
            ++(lives_.operations_per_year(device).value_or(INFINITY) > frequently_per_year ? frequent : others);
        };
        count(part.device);
        for (const std::uint32_t stop : function_.rows_shared_with)
            count(context_.compiled.variables[context_.stops[stop].variable].device);
        return coverage_in_a_row(frequent, others);
    }

    std::optional<double> average_of(const Pair &pair) {
        std::vector<std::pair<double, double>> parts;
        bool known = true;
        for (const PartChannel *channel : {&pair.a, &pair.b})
            for (const StopPart &part : channel->parts) {
                const auto years = lives_.mttfd_years(part.device);
                known &= years.has_value();
                parts.emplace_back(years.value_or(1), coverage_of(part));
            }
        return known ? std::optional(average_coverage(parts)) : std::nullopt;
    }

    static std::optional<double> years_of_pair(const Pair &pair, SafetyCategory category) {
        const double most = category == four ? most_years_of_four : most_years;
        if (!pair.a.years || !pair.b.years)
            return std::nullopt;
        return symmetrised_years(std::min(*pair.a.years, most), std::min(*pair.b.years, most));
    }

    // What of that the numbers bear out.
    SafetyCategory by_numbers(SafetyCategory structure) {
        if (structure >= three && !pairs_.empty()) {
            for (const Pair &pair : pairs_)
                coverages_.push_back(average_of(pair));
            std::string why_not = why_not_three();
            if (!why_not.empty()) {
                reject(three, why_not);
                structure = one;
            } else if (structure == four) {
                why_not = why_not_four();
                if (!why_not.empty()) {
                    reject(four, why_not);
                    structure = three;
                }
            }
        }
        if (structure >= three) {
            std::erase_if(out_.rejected, [](const Rejected &each) { return each.candidate == "category 2"; });
            return structure;
        }
        channel_years_ = one_channel_years();
        std::vector<std::string> untried;
        for_all_parts([&](const StopPart &part) {
            const std::string &device = ground_.device(part.device).designation;
            if (!lives_.well_tried(part.device) && std::find(untried.begin(), untried.end(), device) == untried.end())
                untried.push_back(device);
        });
        if (!untried.empty()) {
            for (const std::string &device : untried)
                ground_.unknown(device, "well_tried", "category 1 of its stops: whether ISO 13849-2 table D.3 is met");
            reject(one, "nobody said that these are well-tried components: " + listed_in_short(untried));
            return b;
        }
        if (channel_years_.value_or(0) < high_years && !(series_.empty() && pairs_.empty())) {
            reject(one, channel_years_ ? "the MTTFd of the channel is under 30 years" : "its MTTFd is not known");
            return b;
        }
        return one;
    }

    std::string why_not_three() {
        if (!common_cause_.score) {
            ground_.unknown(common_cause_.said_of, "common_cause_score",
                            "category 3 and 4 of its stops (ISO 13849-1 annex F: at least 65)");
            return "nobody said what is done against failures of common cause";
        }
        out_.faults.push_back({"common_cause_score", *common_cause_.score, "", Origin::plan, common_cause_.said_of});
        if (*common_cause_.score < enough_common_cause)
            return "the score against failures of common cause is under 65";
        for (std::size_t i = 0; i < pairs_.size(); ++i) {
            if (!coverages_[i])
                return "its MTTFd is not known";
            if (*coverages_[i] < low_coverage)
                return "the diagnostic coverage is under 60 %";
            if (*years_of_pair(pairs_[i], three) < least_years)
                return "the MTTFd of a channel is under 3 years";
        }
        return {};
    }

    std::string why_not_four() const {
        for (std::size_t i = 0; i < pairs_.size(); ++i) {
            if (*coverages_[i] < high_coverage - 1e-9)
                return "the diagnostic coverage is under 99 %";
            if (*years_of_pair(pairs_[i], four) < high_years)
                return "the MTTFd of a channel is under 30 years";
        }
        return {};
    }

    template <class Work>
    void for_all_parts(const Work &work) const {
        std::for_each(series_.begin(), series_.end(), work);
        for (const Pair &pair : pairs_)
            for (const PartChannel *channel : {&pair.a, &pair.b})
                std::for_each(channel->parts.begin(), channel->parts.end(), work);
    }

    // Without the second channel's help: what each takes alone, and the worse channel of each pair.
    std::optional<double> one_channel_years() const {
        std::vector<double> years;
        if (!series_.empty()) {
            if (!series_years_)
                return std::nullopt;
            years.push_back(*series_years_);
        }
        for (const Pair &pair : pairs_) {
            if (!pair.a.years || !pair.b.years)
                return std::nullopt;
            years.push_back(std::min(*pair.a.years, *pair.b.years));
        }
        return years.empty() ? std::nullopt : std::optional(channel_mttfd_years(years));
    }

    void add_rate(const std::string &of, const FailureRate &rate) {
        out_.rates.push_back(computed("by the model", rate.model_per_h, "1/h", of));
        if (rate.table_per_h)
            out_.rates.push_back({"by table K.1", *rate.table_per_h, "1/h", Origin::table, of});
        *out_.failures_per_h += rate.per_h();
    }

    void find_rate() {
        out_.failures_per_h = 0;
        bool none = false; // no category allows it
        if (counted_ >= three) {
            for (std::size_t i = 0; i < pairs_.size(); ++i) {
                const double years = *years_of_pair(pairs_[i], counted_);
                out_.mttfd_years = std::min(out_.mttfd_years.value_or(years), years);
                out_.coverage = std::min(out_.coverage.value_or(1), *coverages_[i]);
                add_rate(parts_text(pairs_[i]), dangerous_failures(counted_, years, *coverages_[i]));
            }
        } else if (!series_.empty() || !pairs_.empty()) {
            if (channel_years_)
                out_.mttfd_years = std::min(*channel_years_, most_years);
            if (!channel_years_) {
                out_.failures_per_h.reset();
            } else if (*channel_years_ < least_years) {
                none = true;
                out_.failures_per_h = 1 / (8760 * *channel_years_);
                out_.remarks.push_back("No category allows a channel that lasts less than 3 years.");
            } else {
                add_rate("one channel", dangerous_failures(counted_, *channel_years_, 0));
            }
        }
        for (const Maker &maker : makers_) {
            if (!maker.per_h || !maker.category)
                out_.failures_per_h.reset();
            if (maker.per_h)
                out_.rates.push_back({"dangerous_failures_per_h", *maker.per_h, "1/h", Origin::plate, maker.name});
            if (out_.failures_per_h)
                *out_.failures_per_h += *maker.per_h;
        }
        if (!out_.failures_per_h)
            out_.remarks.push_back("Something it needs is not known: see what nobody said.");
        if (!out_.failures_per_h || none)
            return;
        out_.level = level_of(*out_.failures_per_h);
        limit(highest_level(out_.category), "");
        if (masked_ && counted_ >= three)
            limit(PerformanceLevel::d, "Not above d: devices in one row can hide each other's faults (ISO/TR 24119).");
        if (rarely_used_ && counted_ >= three)
            limit(PerformanceLevel::d, "Not above d: faults that show by use alone must show each month.");
    }

    void limit(PerformanceLevel most, const std::string &why) {
        if (!out_.level || *out_.level <= most)
            return;
        out_.level = most;
        if (!why.empty())
            out_.remarks.push_back(why);
    }

    std::string parts_text(const Pair &pair) const {
        std::vector<std::string> names;
        for (const PartChannel *channel : {&pair.a, &pair.b})
            for (const StopPart &part : channel->parts)
                names.push_back(name(part));
        return listed_in_short(names);
    }

    Ground &ground_;
    const Context &context_;
    const StopFunction &function_;
    PartLives &lives_;
    const CommonCause &common_cause_;
    StopReliability out_;
    SafetyCategory counted_ = b; ///< without what makers say of theirs
    std::vector<StopPart> series_;
    std::vector<std::vector<PartChannel>> more_channels_;
    std::vector<Pair> pairs_;
    std::vector<Maker> makers_;
    std::vector<std::optional<double>> coverages_;
    std::optional<double> series_years_, channel_years_;
    bool masked_ = false, rarely_used_ = false;
};

} // namespace

StopReliability reliability_of(Ground &ground, const Context &context, const StopFunction &function, PartLives &lives,
                               const CommonCause &common_cause) {
    return Judging(ground, context, function, lives, common_cause).judge();
}

} // namespace stopspan::ratings
