(arcs and helices in all planes, inches and millimetres, absolute and relative)
G21 G90 G17
G0 Z5
G0 X10 Y-4
G1 Z-1 F100
G3 X10 Y-4 I-5 J0
G2 X20 Y6 Z-2 I0 J10
G18
G3 X16 Z2 I-4 K0
G2 X12 Z-2 Y8 I0 K-4
G19
G2 Y12 Z2 J0 K4
G3 X11 Y8 Z-2 J-4 K0
G17
G91
G1 X1.5 Y-.25
G2 X3 Y3 R3
G3 X-3 Y3 R-3
G90
G20
G1 X1 Y.5
G2 X1.5 Y1 I.5 J0
G3 X1 Y1.5 R.5
G0 Z.25
M2
