"""Paper: from plain data to PDF bytes."""

from services.sheets import typefaces as typefaces
