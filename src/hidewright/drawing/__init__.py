"""The one ``Drawing`` that all writers take, the writers (SVG, DXF, PDF, STL) and the readers.

The doors to ezdxf, reportlab and defusedxml are here and nowhere else.
"""
