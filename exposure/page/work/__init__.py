"""What runs beside the page: long work with progress and Stop, records read in a process of their own, turns."""
