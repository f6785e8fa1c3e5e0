"""Names of the rule sets a question may ask for, and of the rules they answer as."""

US_FEDERAL = "us-federal"
US_CALIFORNIA = "us-california"
EU = "eu"
UK = "uk"

RULE_NAMES = (US_FEDERAL, US_CALIFORNIA, EU, UK)

US_FEDERAL_ODS = "us-federal-ods"
US_FEDERAL_HFC = "us-federal-hfc"
