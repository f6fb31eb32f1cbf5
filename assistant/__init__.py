"""A voice assistant for a rescuer who gives oxygen from small cylinders, far from a road."""
