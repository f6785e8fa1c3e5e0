"""A report's content as PDF."""

from typing import Any

from compliance.selectors.reports.parameters import Progress, ReportParameters, no_progress
from compliance.selectors.reports.pieces import drained
from compliance.services.reports.catalogue import ReportType
from portal.web.joined_pdf import JoinedPdf
from portal.web.pdf import render_pdf


def print_content(
    report: ReportType, content: Any, parameters: ReportParameters, progress: Progress = no_progress
) -> bytes:
    """Print a report as tagged PDF; a very long one piece by piece, so that memory stays bounded."""
    pieces = report.pieces(content)
    count, paper = len(pieces), parameters.paper(report.paper)
    joined = JoinedPdf()
    for number, piece in enumerate(drained(pieces)):
        progress(number, count)
        context = {
            "report": piece,
            "whole": content,
            "parameters": parameters,
            "paper": paper,
            "is_piece": count > 1,
            "is_first": number == 0,
            "is_last": number == count - 1,
        }
        if count == 1:
            return render_pdf(report.print_template, context)
        joined.add(report.print_template, context)
    return joined.finish()
