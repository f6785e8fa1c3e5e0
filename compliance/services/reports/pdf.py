"""A report's content as PDF."""

from typing import Any

from compliance.selectors.reports.parameters import Progress, ReportParameters, no_progress
from compliance.services.reports.catalogue import ReportType
from portal.web.joined_pdf import join_pdf
from portal.web.pdf import render_pdf


def print_content(
    report: ReportType, content: Any, parameters: ReportParameters, progress: Progress = no_progress
) -> bytes:
    """Print a report as tagged PDF; a very long one piece by piece, so that memory stays bounded.

    What is joined from pieces is plain PDF: the pieces' tags don't survive the joining.
    """
    pieces = report.pieces(content)
    printed = []
    for number, piece in enumerate(pieces):
        progress(number, len(pieces))
        context = {
            "report": piece,
            "whole": content,
            "parameters": parameters,
            "paper": parameters.paper(report.paper),
            "is_piece": len(pieces) > 1,
            "is_first": number == 0,
            "is_last": number == len(pieces) - 1,
        }
        printed.append(render_pdf(report.print_template, context))
    return printed[0] if len(printed) == 1 else join_pdf(printed)
