// The schema is a file of its own; here it is held against the rules of the library, kind by kind.
#include "base/number_text.hpp"
#include "stopspan/files.hpp"

#include <gtest/gtest.h>
#include <pugixml.hpp>

#include <map>
#include <set>
#include <sstream>

namespace stopspan::test {
namespace {

class Schema : public testing::Test {
protected:
    void SetUp() override {
        const std::string text(installation_schema());
        ASSERT_TRUE(document_.load_string(text.c_str()));
        schema_ = document_.document_element();
    }
    pugi::xml_node named(const char *element, std::string_view name) const {
        return schema_.find_child_by_attribute(element, "name", std::string(name).c_str());
    }
    /// Every attribute below a node, those of the groups it refers to among them.
    void attributes(pugi::xml_node node, std::map<std::string, pugi::xml_node> &found) const {
        for (const pugi::xml_node child : node.children()) {
            if (child.name() == std::string_view("xs:attribute"))
                found[child.attribute("name").value()] = child;
            else if (child.attribute("ref"))
                attributes(named("xs:attributeGroup", child.attribute("ref").value()), found);
            else
                attributes(child, found);
        }
    }
    pugi::xml_document document_;
    pugi::xml_node schema_;
};

TEST_F(Schema, IsForTheNamespaceOfTheFiles) {
    EXPECT_EQ(schema_.attribute("targetNamespace").value(), installation_namespace);
}

TEST_F(Schema, HasEveryDeviceKindWithExactlyItsParameters) {
    const pugi::xml_node kinds = named("xs:complexType", "circuit").child("xs:choice");
    std::set<std::string> seen;
    for (const pugi::xml_node element : kinds.children("xs:element")) {
        const std::string word = element.attribute("name").value();
        seen.insert(word);
        std::map<std::string, pugi::xml_node> found;
        attributes(element, found);
        const auto rules = parameter_rules(device_kind(word));
        EXPECT_EQ(found.size(), rules.size()) << word;
        for (const ParameterRule &rule : rules) {
            const std::string name = word + "/" + std::string(rule.name);
            const pugi::xml_node attribute = found[std::string(rule.name)];
            ASSERT_TRUE(attribute) << name;
            EXPECT_EQ(attribute.attribute("use").value() == std::string_view("required"), rule.required) << name;
            const std::string_view type = attribute.attribute("type").value();
            const pugi::xml_node restriction = named("xs:simpleType", type).child("xs:restriction");
            ASSERT_TRUE(restriction) << name;
            switch (rule.type) {
            case ParameterRule::Type::number:
                EXPECT_EQ(parse_number(restriction.child("xs:minInclusive").attribute("value").value()), rule.minimum)
                    << name;
                EXPECT_EQ(parse_number(restriction.child("xs:maxInclusive").attribute("value").value()), rule.maximum)
                    << name;
                break;
            case ParameterRule::Type::word: {
                std::string words;
                for (const pugi::xml_node each : restriction.children("xs:enumeration"))
                    words += (words.empty() ? "" : " ") + std::string(each.attribute("value").value());
                EXPECT_EQ(words, rule.words) << name;
                break;
            }
            case ParameterRule::Type::flag:
                EXPECT_EQ(type, "flag") << name;
                break;
            case ParameterRule::Type::text:
                EXPECT_EQ(type, "optional-text") << name;
                break;
            }
        }
    }
    EXPECT_EQ(seen.size(), all_device_kinds().size());
}

} // namespace
} // namespace stopspan::test
