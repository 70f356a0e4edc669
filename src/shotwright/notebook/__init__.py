"""The engineering notebook: figures, the HTML file and the PDF; it computes nothing."""
