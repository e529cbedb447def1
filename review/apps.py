from django.apps import AppConfig


class ReviewConfig(AppConfig):
    name = "review"
    verbose_name = "Rushlight"

    def ready(self):
        from review import tasks  # gives the jobs their courier

        tasks.carry_jobs()
