[Version] 2.0
# MHz S RI R 50
[Number of Ports] 2
[Two-Port Data Order] 12_21
[Number of Frequencies] 2
[Matrix Format] Lower
[Network Data]
100 0.1 0.0
 0.9 -0.1 0.2 0.0
200 0.2 0.0
 0.8 -0.1 0.1 0.0
[End]
