"""What everybody needs: errors, units at the door, folders, whole files, text for spreadsheets."""
