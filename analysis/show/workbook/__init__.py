"""What the workbook shows: cards, rows with bars, and pictures of a part of a season."""
