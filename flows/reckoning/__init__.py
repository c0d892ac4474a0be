"""The facts of a job to a figure's inputs."""
