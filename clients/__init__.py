"""Who and where: clients, their properties and plantings."""
