"""What people see: the workbook and the terminal summary."""
