"""Starts the page: ``streamlit run app.py`` does what ``exposure page`` does."""

from exposure.page.start import show_page

show_page()
