"""One function per thing a builder does; the seam that the command line, pages and scripts share.

Tasks combine the rooms below and are the only writers of the notebook.
"""
