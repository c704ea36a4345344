"""Records that come and go as CSV files.

text      bytes to text, and text to numbered rows of cells
guard     cells that a spreadsheet would run as formulas
columns   what a cell may hold: read it, write it, say what is wrong with it
reading   a file to rows of values and faults; writing: records to a file
kinds     what a kind of file is about, and the plan of what importing one would do
services  keeping a file that was sent, and importing it all or not at all
"""
