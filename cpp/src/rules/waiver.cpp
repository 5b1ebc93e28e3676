#include "base/dates.hpp"
#include "base/names.hpp"
#include "base/words.hpp"
#include "stopspan/rules.hpp"
#include "stopspan/verdict.hpp"

#include <set>

namespace stopspan {
namespace {

void check_text(const std::string &object, std::string_view field, const std::string &text) {
    if (text.empty())
        throw Error(ErrorCode::missing_value, object + ": it has no " + std::string(field) +
                                                  "; a waiver says who accepts what, why and since when");
    if (!is_name(text))
        throw Error(ErrorCode::bad_value, object + ": its " + std::string(field) +
                                              " must be printable text on one line without a blank at its ends");
}

} // namespace

void check_waiver(const Waiver &waiver) {
    const std::string object = "waiver of " + (waiver.rule.empty() ? "a rule" : waiver.rule);
    if (waiver.rule.empty())
        throw Error(ErrorCode::missing_value, object + ": it names no rule; give one");
    try {
        (void)rule_info(waiver.rule);
    } catch (const Error &error) {
        throw Error(error.code(), object + ": " + error.what());
    }
    if (waiver.subjects.empty())
        throw Error(ErrorCode::missing_value,
                    object + ": it has no subjects; list all of the finding's, as the report gives them");
    for (const std::string &subject : waiver.subjects)
        check_text(object, "subject", subject);
    if (std::set<std::string>(waiver.subjects.begin(), waiver.subjects.end()).size() != waiver.subjects.size())
        throw Error(ErrorCode::bad_value, object + ": one of its subjects is listed twice; list it once");
    check_text(object, "reason", waiver.reason);
    check_text(object, "name", waiver.name);
    if (!waiver.says.empty())
        check_text(object, "says", waiver.says);
    if (waiver.date.empty())
        check_text(object, "date", waiver.date);
    if (!is_date(waiver.date))
        throw Error(ErrorCode::bad_value, object + ": its date" +
                                              (is_plain_text(waiver.date) ? " '" + waiver.date + "'" : "") +
                                              " is no date; write it as 2026-11-26");
}

} // namespace stopspan
