"""Sphinx configuration of the documentation site; `scripts/site` builds it."""

from assistant import __version__

project = "Spoken assistant for bolted joints"
release = version = __version__
author = "its contributors"
project_copyright = "its contributors"
extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.doctest", "scripts.site_commands"]
source_suffix = {".md": "markdown"}
root_doc = "index"
exclude_patterns = ["*.svg", "*.png"]
nitpicky = False  # types of other packages are not part of this site; our own links are checked by scripts/site
myst_heading_anchors = 4
myst_enable_extensions = ["deflist", "colon_fence"]
suppress_warnings = ["misc.highlighting_failure"]
highlight_language = "none"
html_theme = "alabaster"
html_theme_options = {
    "description": f"Hands-free and offline. Version {__version__}.",
    "fixed_sidebar": False,
    "page_width": "1140px",
    "body_max_width": "860px",
    "sidebar_width": "230px",
    "font_family": "sans-serif",
    "head_font_family": "sans-serif",
    "code_font_size": "0.72em",
    "show_powered_by": False,
}
html_static_path = ["site.css"]
html_css_files = ["site.css"]
html_sidebars = {"**": ["about.html", "searchfield.html", "navigation.html"]}
html_show_sphinx = False
html_show_sourcelink = False
html_copy_source = False
autodoc_member_order = "bysource"
autodoc_typehints = "signature"
python_display_short_literal_types = True
