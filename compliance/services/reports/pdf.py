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
    """Print a report as tagged PDF; a very long one piece by piece, so that memory stays bounded.

    Papers to sign are sent one by one: each counts its own pages, however many are printed at once.
    """
    pieces = report.pieces(content)
    count, paper = len(pieces), parameters.paper(report.paper)
    joined = JoinedPdf(is_bundle=report.is_paper)
    is_joined = count > 1 or report.is_paper
    for number, piece in enumerate(drained(pieces)):
        progress(number, count)
        context = {
            "report": piece,
            "whole": content,
            "parameters": parameters,
            "paper": paper,
            "is_piece": is_joined,
            "is_first": number == 0,
            "is_last": number == count - 1,
        }
        if not is_joined:
            return render_pdf(report.print_template, context)
        joined.add(report.print_template, context)
    return joined.finish()
