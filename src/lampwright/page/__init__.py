"""The page: the piece in front of its maker, and a preview to send.

In come a piece and what sign-off knows of it; out go plain data that the browser draws
(:mod:`scene`, :mod:`traces`), one self-contained preview (:mod:`preview`) and a server on the
loopback only (:mod:`server`). The browser's part stands in ``web/``.
"""
