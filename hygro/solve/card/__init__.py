"""Many walls on a graphics card: the same kernels, one wall a thread (`pip install "hygro[gpu]"`).

`tiles` says how the arrays of many walls lie, `threads` what one thread does with its wall,
`own_series` what it reads of series,
`batch` fills the arrays and takes the results, `together` says which walls go in them, `series`
keeps loads that walls share once, `arena` is memory for results that other processes read, `hands`
copies by several threads, `device` is the card itself and the only file that imports its compiler.
Whoever stands in for the card (`batch.Machine`) may be a processor.
"""

from __future__ import annotations
