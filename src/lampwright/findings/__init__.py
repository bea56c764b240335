"""Findings: the record of what was checked, and the page behind each stable code."""

from lampwright.findings.model import Finding, Severity
from lampwright.findings.pages import Page, codes, explain, load_pages

__all__ = ["Finding", "Page", "Severity", "codes", "explain", "load_pages"]
