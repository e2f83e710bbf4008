"""Printing of papers lives beside the press, for rooms that come before this one print as well."""

from shop.printing import FACTS_NAME, NotPrinted, OnlyOurs, Printed, font_address, render

__all__ = ["FACTS_NAME", "NotPrinted", "OnlyOurs", "Printed", "font_address", "render"]
