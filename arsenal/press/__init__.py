"""From a chosen option to a ball the customer takes home: plans, the drill sheet, tickets."""
