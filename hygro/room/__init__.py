"""Indoor climates: constant, seasonal, by rule, by moisture balance, from a file. Knows no wall."""
