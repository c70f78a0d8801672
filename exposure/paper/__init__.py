"""What is printed or carried to site: sheets, the ranked comparison, the site file."""
