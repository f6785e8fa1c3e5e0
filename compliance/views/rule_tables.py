"""The numbers of the law that every answer rests on, open to whoever sees an obligation."""

from typing import Any

from django.views.generic import TemplateView

from compliance.rulebook.tables import load_tables
from compliance.rulebook.version import RULEBOOK_VERSION
from compliance.selectors.rule_tables import TABLES, rule_tables
from portal.web.views import PortalView


class RuleTablesView(PortalView, TemplateView):
    permission_required = "compliance.view_obligation"
    template_name = "compliance/rule_tables.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        tables = load_tables()
        rule = self.request.GET.get("rule", "")
        only_unconfirmed = self.request.GET.get("sure") == "no"
        found = rule_tables(tables, rule=rule, only_unconfirmed=only_unconfirmed)
        return super().get_context_data(
            tables=found,
            row_count=sum(len(table.rows) for table in found),
            rules=TABLES,
            rule=rule,
            only_unconfirmed=only_unconfirmed,
            rulebook_version=RULEBOOK_VERSION,
            tables_version=tables.version,
            **kwargs,
        )
